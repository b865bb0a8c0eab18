import { describe, expect, it } from 'vitest'
import type { District, Gap, Level, Rig, RigStanding, Station } from '@/api/types'
import type { SeenRig } from '@/store/foresee'
import { headlineWords } from '@/words/level'
import { apartWords, buildBoard, filterBoard, headlineOf, type BoardFacts } from './board'

const districts: District[] = [
  { id: 'n', rev: 1, name: 'North', min_full: 1 },
  { id: 'q', rev: 1, name: 'Quarry', min_full: 2 },
]
const stations: Record<string, Station> = {
  s1: { id: 's1', rev: 1, name: 'Station 1', district: 'n' } as Station,
  s2: { id: 's2', rev: 1, name: 'Station 2', district: 'q' } as Station,
}
const rig = (id: string, name: string, station: string, fields: Partial<Rig> = {}): Rig => ({
  id,
  rev: 1,
  name,
  station,
  rig_class: 'c',
  in_service: true,
  planned: false,
  duty: 'front_line',
  out_at: null,
  allows: [],
  ...fields,
})
const noRam: Gap = {
  in: 'need',
  id: 'push',
  name: 'Ram',
  required: true,
  kinds: ['ram'],
  words: ['no ram aboard'],
  near: [],
  compete: null,
  runs_again: null,
}
const answer = (level: Level, fields: Partial<RigStanding> = {}) =>
  ({
    id: '',
    rev: 1,
    level,
    expects: 'full',
    completeness: 'complete',
    confirmed: true,
    confirmed_level: level,
    doubts: [],
    since: '2026-11-25T10:00:00Z',
    holds_until: null,
    critical: [],
    margin: 0,
    needs: [],
    fillings: [],
    restore: [],
    also: [],
    still_runs: [],
    remarks: [],
    gaps: [],
    ...fields,
  }) as unknown as RigStanding

const standings: Record<string, RigStanding> = {
  a: answer('full'),
  b: answer('limited', { gaps: [noRam], completeness: 'incomplete' }),
  c: answer('full', {
    confirmed: false,
    doubts: [
      {
        piece: 'r',
        code: 'overdue-in-grace',
        words: 'ram RM-7: annual service 39 days overdue, inside the agency’s grace',
        since: null,
      },
      { piece: 'k', code: 'no-plan', words: 'cutter CU-1: no plan', since: null },
    ],
  }),
  // A ladder with one combination tool: limited, as its class asks.
  l: answer('limited', { expects: 'limited' }),
  m: answer('full'),
  v: answer('full'),
}
const facts = (fields: Partial<BoardFacts> = {}): BoardFacts => ({
  districts,
  rigs: [
    rig('a', 'Engine 10', 's2'),
    rig('b', 'Engine 2', 's2'),
    rig('c', 'Engine 1', 's1'),
    rig('l', 'Ladder 1', 's1'),
    rig('m', 'Engine 7', 's1', { in_service: false, out_at: 'mechanic', out_reason: 'Brakes' }),
    rig('v', 'Reserve 1', 's1', { duty: 'ready_reserve' }),
  ],
  station: (id) => stations[id],
  standing: (id) => standings[id],
  seen: (id) => seenAs(standings[id]),
  piece: () => undefined,
  whole: true,
  ...fields,
})
const seenAs = (standing: RigStanding | undefined, fields: Partial<SeenRig> = {}): SeenRig => ({
  level: standing?.level,
  counted: standing !== undefined,
  lowered: false,
  words: '',
  ...fields,
})
const board = buildBoard(facts())

describe('the board', () => {
  it('counts against what is expected: a ladder that is limited as its class asks is in no number of full rigs', () => {
    const headline = headlineOf(board.districts)
    expect(headline).toEqual({ full: 2, expected: 3, able: 2, confirmed: 1, notCounted: 0 })
    expect(headlineWords(headline)).toBe('2 of 3 rigs meant for it can do a full extrication; 1 confirmed')
  })
  it('says that nothing is expected where no class says so, and still counts', () => {
    const headline = { full: 2, expected: 0, able: 0, confirmed: 0, notCounted: 0 }
    expect(headlineWords(headline)).toBe('2 rigs can do a full extrication; nobody has set which rigs should')
  })
  it('keeps reserve rigs and rigs at the mechanic apart', () => {
    expect(board.apart.map((one) => one.rig.name)).toEqual(['Engine 7', 'Reserve 1'])
    expect(apartWords(board.apart)).toBe('1 at the mechanic, 1 ready reserve')
    expect(board.districts.flatMap((d) => d.rigs).map((r) => r.rig.id)).not.toContain('m')
  })
  it('puts the short district first and what falls short of what is expected first in it', () => {
    expect(board.districts.map((d) => [d.name, d.short])).toEqual([
      ['Quarry', true],
      ['North', false],
    ])
    expect(board.districts[0]?.rigs.map((r) => r.rig.name)).toEqual(['Engine 2', 'Engine 10'])
    expect(board.districts[1]?.rigs.map((r) => [r.rig.name, r.asExpected])).toEqual([
      ['Ladder 1', true],
      ['Engine 1', true],
    ])
  })
  it('says why, and the list and what is not confirmed apart from it, overdue inside the grace among it', () => {
    expect(board.districts[0]?.rigs[0]).toMatchObject({
      why: ['Ram: no ram aboard'],
      small: ['list incomplete'],
    })
    expect(board.districts[1]?.rigs[1]?.small).toEqual([
      'not confirmed: ram RM-7: annual service 39 days overdue, inside the agency’s grace, and 1 more',
    ])
  })
  it('warns of a minimum above the rigs that should be full', () => {
    const many = buildBoard(facts({ districts: [{ id: 'q', rev: 1, name: 'Quarry', min_full: 3 }] }))
    expect(many.districts.find((d) => d.id === 'q')?.minimumAboveExpected).toBe(true)
    expect(board.districts.find((d) => d.id === 'q')?.minimumAboveExpected).toBe(false)
  })
  it('puts the district of whoever looks first, also where another is short', () => {
    const ids = (own?: string) => buildBoard(facts(own ? { own } : {})).districts.map((d) => d.id)
    const [first, second] = ids()
    expect(ids(second)).toEqual([second, first])
    expect(ids(first)).toEqual([first, second])
  })
  it('misses no rig where nobody has said which should be full', () => {
    const open = buildBoard(facts({ standing: (id) => standings[id] && { ...standings[id], expects: null } }))
    for (const d of open.districts)
      expect(d).toMatchObject({ unasked: true, short: false, minimumAboveExpected: false })
    expect(board.districts.some((d) => d.short)).toBe(true)
  })
  it('takes an answer that is not counted out of every number and says so', () => {
    const words = 'Not counted yet: judged until 14:20'
    const late = buildBoard(
      facts({ seen: (id) => seenAs(standings[id], id === 'a' ? { counted: false, words } : {}) }),
    )
    expect(headlineOf(late.districts)).toEqual({ full: 1, expected: 3, able: 1, confirmed: 0, notCounted: 1 })
    const row = late.districts[0]?.rigs.find((r) => r.rig.id === 'a')
    expect(row).toMatchObject({ asExpected: null, why: [words] })
  })
  it('never says none of a rig that nobody has judged', () => {
    const blind = buildBoard(
      facts({ standing: () => answer('not_judged'), seen: () => seenAs(answer('not_judged')) }),
    )
    const q = blind.districts.find((d) => d.id === 'q')
    expect(q?.counts).toMatchObject({ none: 0, not_judged: 2 })
    expect(q?.short).toBe(false)
    expect(q?.rigs[0]?.why).toEqual([])
  })
  it('keeps a rig whose answer has not come, as unknown', () => {
    const blind = buildBoard(facts({ standing: () => undefined, seen: () => seenAs(undefined) }))
    expect(blind.districts.find((d) => d.id === 'q')?.rigs[0]?.why).toEqual([
      'Its answer has not arrived yet',
    ])
    expect(blind.districts.find((d) => d.id === 'q')?.full).toBe(0)
  })
  it('filters by level and by what is missing, and leaves out what is then empty', () => {
    const by = (filter: Partial<{ district: string; level: string; text: string }>) =>
      filterBoard(board.districts, { district: '', level: '', text: '', ...filter })
    expect(by({ level: 'limited' }).map((d) => d.rigs.length)).toEqual([1, 1])
    expect(by({ text: 'no ram' })[0]?.rigs[0]?.rig.id).toBe('b')
    expect(by({ text: '39 days overdue' })[0]?.rigs[0]?.rig.id).toBe('c')
    expect(by({ district: 'n' }).map((d) => d.id)).toEqual(['n'])
  })
})
