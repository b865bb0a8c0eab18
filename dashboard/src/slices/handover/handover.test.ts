import { describe, expect, it } from 'vitest'
import type {
  Defect,
  Piece,
  PieceStanding,
  Place,
  PlanDue,
  Rig,
  RigStanding,
  Swap,
  Ticket,
  Use,
  Verdict,
} from '@/api/types'
import type { SeenPiece } from '@/store/foresee'
import { belongs, handover, namedWords, repairWords, together, type Facts } from './handover'
import { faultWords, isShort, risksOf, unsetWords, wellWords, type At, type Known } from './risk'

const since = '2026-11-27T19:00:00.000000Z'
const night = '2026-11-28T02:00:00.000000Z'
const before = '2026-11-20T02:00:00.000000Z'
const on = (rig: string): Place => ({ at: 'rig', rig })
const piece = (id: string, place: Place, more: Partial<Piece> = {}) =>
  ({ id, tag: id, place, home: null, state: 'in_service', state_since: before, ...more }) as Piece
const facts = (more: Partial<Facts>): Facts => ({
  ...{ pieces: [], defects: [], tickets: [], swaps: [], uses: [], rigs: [] },
  ofRig: (rig) => rig === 'mine',
  ofPlace: (place) => place?.at === 'rig' && place.rig === 'mine',
  ...more,
})
const defect = (id: string, of: string, seen_at: string, severity = 'out_of_service') =>
  ({ id, piece: of, seen_at, severity, state: 'open' }) as Defect
const ids = (list: readonly { id: string }[]) => list.map((one) => one.id)

describe('a handover', () => {
  it('tells what changed since, here, and nothing of before or elsewhere', () => {
    const sheet = handover(
      facts({
        pieces: [
          // Out by the report that stands above it: not said twice.
          piece('a', on('mine'), { state_since: night, state: 'out_of_service' }),
          piece('e', on('mine'), { state_since: night, state: 'out_of_service' }),
          piece('b', on('other'), { state_since: night }),
          piece('c', on('mine')),
        ],
        defects: [defect('d1', 'a', night), defect('d2', 'b', night), defect('d3', 'c', before, 'usable')],
        uses: [
          { id: 'u1', rig: 'mine', used_at: night, pieces: ['a'] },
          { id: 'u2', rig: 'mine', used_at: before, pieces: ['a'] },
          { id: 'u3', rig: 'mine', used_at: night, pieces: [] },
        ] as unknown as Use[],
      }),
      since,
    )
    expect(ids(sheet.turned)).toEqual(['e'])
    expect(ids(sheet.defects)).toEqual(['d1'])
    expect(ids(sheet.limits)).toEqual(['d3'])
    expect(ids(sheet.uses)).toEqual(['u1'])
  })
  it('tells what is promised by its day, and what is ready to be fetched', () => {
    const home = on('mine')
    const sheet = handover(
      facts({
        pieces: [
          piece('a', { at: 'shop', shop: 's' }, { home }),
          piece('b', { at: 'vendor', name: 'V', due_on: '2026-12-01' } as Place, { home }),
          piece('c', { at: 'shop', shop: 's' }, { home }),
          piece('d', { at: 'transit', to: on('mine') } as Place),
          piece('e', { at: 'shop', shop: 's' }, { home: on('other') }),
          // Returned to service, and still at the shop.
          piece('f', { at: 'shop', shop: 's' }, { home }),
          piece('g', { at: 'shop', shop: 's' }, { home, state: 'out_of_service' }),
          piece('h', on('other'), { home }),
        ],
        tickets: [
          { id: 't1', piece: 'a', state: 'on_hold', ready_on: '2026-12-05' },
          { id: 't2', piece: 'c', state: 'tested' },
          { id: 't3', piece: 'e', state: 'tested' },
          { id: 't4', piece: 'c', state: 'closed', ready_on: '2026-11-01' },
        ] as Ticket[],
        swaps: [
          { id: 's1', rig: 'mine', state: 'open', started_at: before },
          { id: 's2', rig: 'mine', state: 'ended', started_at: before, ended_at: night },
          { id: 's3', rig: 'other', piece: 'h', state: 'open', started_at: before },
          { id: 's4', rig: 'other', piece: 'e', state: 'open', started_at: before },
        ] as Swap[],
      }),
      since,
    )
    expect(sheet.promised.map((one) => [one.piece.id, one.on])).toEqual([
      ['b', '2026-12-01'],
      ['a', '2026-12-05'],
    ])
    expect(sheet.ready.map((one) => [one.piece.id, one.ticket?.id])).toEqual([
      ['c', 't2'],
      ['f', undefined],
    ])
    expect(ids(sheet.lent)).toEqual(['s3'])
    expect(ids(sheet.coming)).toEqual(['d'])
    expect(ids(sheet.standIns)).toEqual(['s1'])
    expect(ids(sheet.swaps)).toEqual(['s2'])
  })
  it('puts what runs out at one instant on one line', () => {
    const run = (id: string, at: string) => ({ rig: { id } as Rig, at, why: `why ${id}` })
    const lines = together([
      run('a', '2026-12-02T08:00:00Z'),
      run('b', night),
      run('c', '2026-12-02T08:00:00Z'),
    ])
    expect(lines.map((line) => [line.at, ids(line.rigs), line.why])).toEqual([
      [night, ['b'], 'why b'],
      ['2026-12-02T08:00:00Z', ['a', 'c'], 'why a'],
    ])
  })
  it('tells what is out of service or missing now, since whenever that is', () => {
    const home = on('mine')
    const sheet = handover(
      facts({
        pieces: [
          piece('a', { at: 'shop', shop: 's' }, { home, state: 'out_of_service', state_since: before }),
          piece('b', on('mine'), { state: 'missing', state_since: '2026-01-02T02:00:00Z' }),
          piece('c', on('mine')),
          piece('d', on('other'), { state: 'out_of_service' }),
          piece('e', on('mine'), { state: 'retired' }),
        ],
      }),
      since,
    )
    expect(ids(sheet.stopped)).toEqual(['b', 'a'])
    expect(ids(sheet.turned)).toEqual([])
  })
  it('tells of what nobody has named a day for, and promises nothing that is ready', () => {
    const home = on('mine')
    const shop: Place = { at: 'shop', shop: 's' }
    const sheet = handover(
      facts({
        pieces: [
          piece('a', shop, { home, state: 'out_of_service' }),
          piece('b', on('mine'), { state: 'out_of_service' }),
          piece('c', { at: 'loan', name: 'L', due_on: null } as Place, { home }),
          piece('d', shop, { home, state: 'out_of_service' }),
          piece('e', shop, { home }),
        ],
        tickets: [
          { id: 't1', piece: 'b', state: 'waiting', ready_on: null },
          { id: 't2', piece: 'd', state: 'tested', ready_on: '2026-11-01' },
        ] as Ticket[],
      }),
      since,
    )
    expect(ids(sheet.undated)).toEqual(['a', 'b', 'c'])
    expect(sheet.promised).toEqual([])
    expect(sheet.ready.map((one) => one.piece.id)).toEqual(['d', 'e'])
  })
  it('says that a promised day is past, and by how much', () => {
    const now = new Date('2026-11-30T07:49:00Z')
    expect(
      ['2026-11-27', '2026-11-29', '2026-11-30', '2026-12-02', null].map((d) => namedWords(d, now)),
    ).toEqual(['27 Nov 2026, 3 days late', '29 Nov 2026, 1 day late', '30 Nov 2026', '2 Dec 2026', ''])
    const held = { state: 'on_hold', hold_reason: 'part', expected_on: '2026-11-28' }
    expect(repairWords({ ...held, ready_on: '2026-12-02' } as Ticket, now)).toBe(
      'waits for a part, expected 28 Nov 2026, 2 days late',
    )
    expect(repairWords({ ...held, ready_on: '2026-11-28' } as Ticket, now)).toBe(
      'waits for a part, expected 28 Nov 2026',
    )
  })
  it('is taken over without a question by its own station or district alone', () => {
    const of = (who: { station?: string | null; district?: string | null } | null, id: string) =>
      belongs({ id }, who, (station) => (station === 's3' ? 'd1' : 'd2'))
    expect(of({ station: 's3' }, 's3')).toBe(true)
    expect(of({ station: 's3' }, 'd1')).toBe(true)
    expect(of({ station: null, district: 'd1' }, 'd1')).toBe(true)
    expect(of({ station: 's4' }, 's3')).toBe(false)
    expect(of({ station: 's4' }, 'd1')).toBe(false)
    expect(of({ station: null, district: 'd1' }, 's3')).toBe(false)
    expect([of({}, 's3'), of(null, 's3')]).toEqual([false, false])
  })
})

describe('the risks of a handover', () => {
  const now = new Date('2026-11-30T07:49:00Z')
  const full = {
    ...{ level: 'full', expects: 'full', completeness: 'complete', confirmed: true, confirmed_level: 'full' },
    ...{ gaps: [], doubts: [], also: [], still_runs: [] },
  } as unknown as RigStanding
  const at = (more: Omit<Partial<At>, 'standing'> & { standing?: Partial<RigStanding> } = {}): At => {
    const standing = { ...full, ...more.standing }
    return {
      ...{ key: 'r', name: 'Engine 25', here: [piece('CU-1', on('r'), { kind: 'cutter' })], away: [] },
      rig: { id: 'r', name: 'Engine 25', in_service: true, duty: 'front_line' } as Rig,
      seen: { level: standing.level, counted: true, lowered: false, words: '' },
      ...more,
      standing,
    }
  }
  const yes: SeenPiece = { verdict: 'yes', counted: true, words: '' }
  const plan = (name: string, due: string, id = name) =>
    ({ plan: id, name, due: { state: 'at', at: due, why: '' } }) as unknown as PlanDue
  const later = plan('Annual service', '2027-11-01T07:00:00Z')
  const known = (more: Partial<Known> = {}): Known => ({
    piece: () => undefined,
    seen: () => yes,
    word: () => 'Cannot be confirmed',
    dues: () => [later],
    defects: () => [],
    where: () => 'At the county shop',
    ticket: () => undefined,
    ...more,
  })
  const lines = (one: At, by = known()) => risksOf([one], by, now).flatMap((risk) => risk.lines)

  it('are none where all is well, and exactly what was looked at is said', () => {
    expect(risksOf([at()], known(), now)).toEqual([])
    expect(wellWords([at()], known())).toBe(
      'By the records: every list complete, every level confirmed, no check overdue, no piece away from its rig.',
    )
    expect(unsetWords([at()], known())).toEqual([])
  })
  it('say why a rig is below what is expected, in the words of the board', () => {
    const gaps = [
      { in: 'need', id: 'cut', name: 'Cutting', near: [], words: ['no cutter is aboard'], kinds: [] },
    ]
    const none = at({ standing: { level: 'none', gaps } as unknown as Partial<RigStanding> })
    expect(lines(none)).toEqual(['Cutting: no cutter is aboard'])
    // Nothing is expected of it, and it meets no grade all the same.
    expect(isShort({ ...none, standing: { ...none.standing, expects: null } as RigStanding })).toBe(true)
    const waits = at({ seen: { level: 'full', counted: false, lowered: false, words: 'Not counted yet: x' } })
    expect(lines(waits)).toEqual(['Not counted yet: x'])
  })
  it('say an incomplete list with what is missing and where it is, though the rig is as expected', () => {
    const battery = piece('BA-12', { at: 'shop', shop: 's' }, { kind: 'battery', state: 'out_of_service' })
    const gap = {
      in: 'slot',
      required: true,
      id: 'bat',
      name: 'Battery',
      near: [],
      words: ['none aboard'],
      kinds: [],
    }
    const one = at({
      standing: { completeness: 'incomplete', gaps: [gap] } as unknown as Partial<RigStanding>,
      away: [battery],
    })
    expect(isShort(one)).toBe(false)
    expect(lines(one)).toEqual([
      'List incomplete: Battery (none aboard)',
      'Away: BA-12 battery. At the county shop, no date given',
    ])
    const promised = known({ ticket: () => ({ ready_on: '2026-11-27' }) as Ticket })
    expect(lines(one, promised)[1]).toBe('Away: BA-12 battery. At the county shop, 27 Nov 2026, 3 days late')
  })
  it('say of how many pieces a level is not confirmed, and which pieces are no yes', () => {
    const doubts = [
      { code: 'no-plan', piece: 'CU-1', words: 'cutter CU-1: no check plan' },
      { code: 'not-tried', piece: 'CU-1', words: 'cutter CU-1: not tried' },
      { code: 'no-plan', piece: 'SP-2', words: 'spreader SP-2: no check plan' },
    ]
    const one = at({
      standing: { confirmed: false, confirmed_level: 'none', doubts } as unknown as Partial<RigStanding>,
    })
    const by = known({
      piece: (id) => piece(id, on('r')),
      seen: () => ({ verdict: 'cannot_be_confirmed', counted: true, words: '' }),
    })
    expect(lines(one, by)).toEqual([
      'Level not confirmed: 2 pieces in doubt (CU-1, SP-2); checked pieces alone reach none; first: cutter CU-1: no check plan',
      'Cannot be confirmed: 1 piece (CU-1)',
    ])
  })
  it('count the overdue checks of a rig and of a shelf, by kind', () => {
    const late = '2026-11-28T07:00:00Z'
    const dues = [plan('Weekly check', late), plan('Weekly check', late), plan('Monthly check', night), later]
    const by = known({ dues: () => dues })
    const words = ['3 checks overdue since Sat 28 Nov 02:00: Weekly check (2), Monthly check']
    expect(lines(at(), by)).toEqual(words)
    const shelf = {
      ...at(),
      key: 'shelf/s',
      name: 'Reserve shelf',
      rig: null,
      standing: undefined,
      seen: undefined,
    }
    expect(lines(shelf, by)).toEqual(words)
    expect(risksOf([shelf, at()], by, now).map((risk) => risk.at.name)).toEqual([
      'Engine 25',
      'Reserve shelf',
    ])
  })
  it('never read what nobody has set as a yes', () => {
    const bare = at({ standing: { completeness: 'no_list', expects: null, level: 'not_judged' } })
    const by = known({ dues: () => [] })
    expect(wellWords([bare], by)).toBe('By the records: no piece away from its rig.')
    expect(unsetWords([bare], by)).toEqual([
      'Grades not set: the level of any rig here is not judged.',
      'No list is set for any rig here: whether it is complete nobody can say.',
      'No check plan covers what is aboard of any rig here.',
    ])
    expect(unsetWords([at(), at({ standing: { expects: null } })], known())).toEqual([
      'What is expected of 1 of 2 rigs is not set.',
    ])
  })
  it('say first that a piece cannot run on its rig, and only then its lesser fault', () => {
    const cutter = piece('CU-132', on('r'), { kind: 'cutter' })
    const fault = { what: 'Blade chipped.', limit: { words: 'glass alone', repair_by_day: '2026-12-10' } }
    const said = (verdict: Verdict, words: string, counted = true) =>
      faultWords(
        fault as unknown as Defect,
        cutter,
        { verdict, reasons: [{ code: 'cannot-run-here', words }] } as unknown as PieceStanding,
        { verdict, counted, words: counted ? '' : 'held since fluids were mixed aboard' },
        now,
      )
    expect(said('not_on_this_rig', 'cutter CU-132: its coupling does not mate')).toBe(
      'No on this rig: its coupling does not mate. Blade chipped. On a rig that it fits: usable only like this: glass alone',
    )
    expect(said('yes_with_limit', 'x')).toBe('Blade chipped. Usable only like this: glass alone')
    expect(said('no', 'its life ended')).toBe('No: its life ended. Blade chipped')
    expect(said('no', 'x', false)).toBe('No: held since fluids were mixed aboard. Blade chipped')
  })
})
