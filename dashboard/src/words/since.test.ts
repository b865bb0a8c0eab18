import { describe, expect, it } from 'vitest'
import type { BoardChange, Level } from '@/api/types'
import { sinceRows, sinceWords, wasWords } from './since'

const change = (rig: string, revision: number, from: Level | null, to: Level): BoardChange => ({
  ...{ rig, rig_name: rig, station_name: 'S', revision, from, to, planned: false },
  ...{
    at: `2026-11-28T0${revision}:00:00Z`,
    kind: 'defect.report',
    by: { id: null, name: `by ${revision}` },
  },
  words: `act ${revision}`,
})

describe('what became of each rig', () => {
  const rows = sinceRows([
    change('C', 7, 'none', 'full'),
    change('A', 6, 'limited', 'none'),
    change('C', 5, 'full', 'none'),
    change('B', 4, 'none', 'limited'),
    change('A', 3, 'full', 'limited'),
    change('D', 2, 'full', 'limited'),
  ])
  it('is one row from then to now, what dropped first', () => {
    expect(rows.map((row) => [row.name, row.from, row.to, row.times, row.became])).toEqual([
      ['A', 'full', 'none', 2, 'dropped'],
      ['D', 'full', 'limited', 1, 'dropped'],
      ['B', 'none', 'limited', 1, 'back'],
      ['C', 'full', 'full', 2, 'same'],
    ])
  })
  it('names who made it as it is now', () => expect(rows[0]?.last.by?.name).toBe('by 6'))
  it('says what each was, beside what it is', () => {
    expect(rows.map(wasWords)).toEqual(['was full', 'was full', 'was none', 'dropped and back'])
    expect(wasWords({ from: null, became: 'back' })).toBe('new')
  })
  it('is said in a line', () => {
    expect(sinceWords(rows)).toBe('2 dropped, 1 came up, 1 dropped and came up again')
    expect(sinceWords([])).toBe('no rig changed its level')
  })
})
