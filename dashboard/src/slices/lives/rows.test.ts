import { describe, expect, it } from 'vitest'
import type { ServiceLives } from '@/api/types'
import { byMonth, headWords, lifeRows } from './rows'

const piece = (tag: string) => ({
  piece: `id-${tag}`,
  tag,
  kind: 'hose' as const,
  model: 'Dorvan H40',
  state: 'in_service' as const,
  place: { at: 'rig' as const, rig: 'r' },
  district: 'north',
  lent_by: null,
  part: 'whole' as const,
  made_on: '2016-12',
  source: null,
})
const lives: ServiceLives = {
  at: '2026-11-25T14:00:00.000000Z',
  today: '2026-11-25',
  until: '2028-11-25',
  months: [],
  dated: [
    { ...piece('H-1'), ends_on: '2026-11-01', ended: true },
    { ...piece('H-2'), ends_on: '2026-12-01', ended: false },
    { ...piece('H-3'), ends_on: '2026-12-24', ended: false },
    { ...piece('H-4'), ends_on: '2027-03-01', ended: false },
  ],
  counted: [{ ...piece('B-1'), kind: 'battery', cycles: 500, limit: 500, ended: true }],
  unknown_counts: [],
  no_life: [],
  unknown: [{ ...piece('H-9'), made_on: null, lacks: 'date_of_make' }],
}

describe('what runs out', () => {
  it('stands month by month, what has ended apart', () => {
    expect(byMonth(lives).map(({ month, lives: of }) => [month, of.map((one) => one.tag)])).toEqual([
      ['2026-12', ['H-2', 'H-3']],
      ['2027-03', ['H-4']],
    ])
  })

  it('is told in one line', () => {
    expect(headWords(lives, '25 Nov 2028')).toBe('2 have run out, 3 more run out by 25 Nov 2028')
    expect(headWords({ ...lives, dated: [], counted: [] }, '25 Nov 2028')).toBe(
      'Nothing runs out by 25 Nov 2028',
    )
    expect(headWords({ ...lives, dated: lives.dated.slice(0, 1), counted: [] }, 'x')).toBe(
      '1 has run out, none more by x',
    )
    expect(headWords({ ...lives, dated: lives.dated.slice(1, 2), counted: [] }, 'x')).toBe('1 runs out by x')
  })

  it('never reads as if what has no life set ran out never', () => {
    const packs = { kind: 'battery' as const, pieces: 41, models: ['Orvane P5'], words: '41 battery packs' }
    const some = { ...lives, no_life: [packs] }
    expect(headWords(some, 'x')).toBe(
      '2 have run out, 3 more run out by x; no life is set for 41 battery packs',
    )
    expect(headWords({ ...some, dated: [], counted: [] }, 'x')).toBe(
      'Nothing with a life set runs out by x; no life is set for 41 battery packs',
    )
    const [head, ...rows] = lifeRows(some, { district: () => '', place: () => '' })
    expect(rows.at(-1)).toHaveLength(head?.length ?? 0)
    expect(rows.at(-1)).toContain('no life is set for 41 battery packs')
  })

  it('goes into a spreadsheet whole, with what is not known', () => {
    const [head, ...rows] = lifeRows(lives, { district: () => 'North', place: () => 'On Engine 1' })
    expect(rows.every((row) => row.length === head?.length)).toBe(true)
    const cell = (row: number, column: string) => rows[row]?.[head?.indexOf(column) ?? -1]
    expect([cell(0, 'Serves until'), cell(0, 'Has ended'), cell(0, 'By')]).toEqual([
      '2026-11-01',
      'yes',
      'the agency’s policy',
    ])
    expect([cell(4, 'Charge cycles'), cell(4, 'Of')]).toEqual([500, 500])
    expect([cell(5, 'Not known'), cell(5, 'Made'), cell(5, 'Has ended')]).toEqual([
      'date of make',
      null,
      null,
    ])
  })
})
