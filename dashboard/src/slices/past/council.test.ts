import { describe, expect, it } from 'vitest'
import type { AvailabilityRow, Level, Shares } from '@/api/types'
import {
  belowOf,
  longest,
  MOST_ASKED,
  monthRows,
  mostBelow,
  periodBeside,
  periodOf,
  periodWords,
} from './council'
import type { Stretch } from './months'

const H = 3_600_000
const at = (hour: number) => new Date(Date.UTC(2026, 9, 1, hour)).toISOString()
const stretch = (from: number, until: number | null, level: Level | null, planned = false) =>
  ({
    ...{ from: at(from), until: until === null ? null : at(until), level, planned },
    ...{ ms: ((until ?? 100) - from) * H, revision: level ? from + 1 : null, words: `act ${from}` },
  }) as Stretch

describe('a period of the calendar', () => {
  it('is the month, quarter or year that holds a month', () => {
    expect(periodOf('month', '2026-11')).toEqual({ from: '2026-11', until: '2026-11' })
    expect(periodOf('quarter', '2026-11')).toEqual({ from: '2026-10', until: '2026-12' })
    expect(periodOf('year', '2026-11')).toEqual({ from: '2026-01', until: '2026-12' })
    expect(periodBeside('quarter', periodOf('quarter', '2026-02'), -1)).toEqual({
      from: '2025-10',
      until: '2025-12',
    })
  })
  it('has a name', () => {
    const words = (length: 'month' | 'quarter' | 'year') =>
      periodWords(length, periodOf(length, '2026-11'), (m) => m)
    expect([words('month'), words('quarter'), words('year')]).toEqual([
      '2026-11',
      '4th quarter of 2026',
      '2026',
    ])
  })
})

describe('a time below what is expected', () => {
  const list = [
    stretch(60, null, 'limited'),
    stretch(50, 60, null),
    stretch(40, 50, 'none', true),
    stretch(30, 40, 'full'),
    stretch(20, 30, 'limited'),
    stretch(5, 20, 'none', true),
    stretch(0, 5, 'heavy'),
  ]
  it('is whole although the level moved, and ends with what nobody knows', () => {
    const found = belowOf(list, 'full').map((one) => [
      one.from,
      one.until,
      one.ms / H,
      one.worst,
      one.planned,
    ])
    expect(found).toEqual([
      [at(5), at(30), 25, 'none', false],
      [at(40), at(50), 10, 'none', true],
      [at(60), null, 40, 'limited', false],
    ])
    expect(belowOf(list, 'full')[0]?.began.words).toBe('act 5')
  })
  it('is none of limited where no more is expected', () => {
    expect(belowOf(list, 'limited').map((one) => one.ms / H)).toEqual([15, 10])
  })
  it('of heavy is counted from full', () => expect(belowOf(list, 'heavy')).toHaveLength(3))
  it('is never longer than the shares say', () => {
    const shares: Shares = {
      seconds: 200,
      known_seconds: 100,
      full: 0.5,
      limited: 0.3,
      none: 0.1,
      planned: 0.1,
    }
    expect(mostBelow(shares, 'full')).toBeCloseTo(50_000)
    expect(mostBelow(shares, 'limited')).toBeCloseTo(20_000)
  })
})

describe('the longest of all', () => {
  const rig = (id: string, most: number) => ({ id, name: id, expects: 'full' as const, most: most * H })
  it('asks no rig that cannot have a longer one', async () => {
    const asked: string[] = []
    const read = (id: string) => {
      asked.push(id)
      return Promise.resolve(
        Array.from({ length: 10 }, (_, n) => [
          stretch(n * 8 + 6, n * 8 + 8, 'full'),
          stretch(n * 8, n * 8 + 6, 'none'),
        ])
          .reverse()
          .flat(),
      )
    }
    const found = await longest([rig('c', 5), rig('a', 60), rig('b', 0)], read)
    expect(asked).toEqual(['a'])
    expect(found?.all).toBe(true)
    expect(found?.list).toHaveLength(10)
  })
  it('says where more rigs were there than may be asked', async () => {
    const rigs = Array.from({ length: MOST_ASKED + 1 }, (_, n) => rig(`r${n}`, 50))
    const found = await longest(rigs, () => Promise.resolve([stretch(0, 1, 'none')]))
    expect(found?.all).toBe(false)
  })
  it('is not known where an answer did not come', async () =>
    expect(await longest([rig('a', 1)], () => Promise.resolve(null))).toBeNull())
})

it('a spreadsheet leaves empty what is not known', () => {
  const none: Shares = { seconds: 10, known_seconds: 0, full: null, limited: null, none: null, planned: null }
  const half: Shares = { seconds: 7200, known_seconds: 3600, full: 0.75, limited: 0.25, none: 0, planned: 0 }
  const row = { id: 'x', name: 'North', months: [none, half], total: half } as AvailabilityRow
  const [head, ...lines] = monthRows('District', ['2026-10', '2026-11'], [row])
  expect(head?.slice(0, 3)).toEqual(['District', 'Period', 'Full, % of known time'])
  expect(lines).toEqual([
    ['North', '2026-10', null, null, null, null, 100, 0],
    ['North', '2026-11', 75, 25, 0, 0, 50, 1],
  ])
})
