import { describe, expect, it } from 'vitest'
import type {
  Model,
  Piece,
  ReliabilityRow,
  ReliabilityView,
  ReserveFamily,
  ReservesView,
  SizingView,
} from '@/api/types'
import { between, days, figure, percent } from './figures'
import { familyKey, membersOf } from './members'
import { fitted, reliabilityRows, sorted } from './rows'
import { reserveRows } from './sheet'
import {
  askFor,
  changed,
  countChanges,
  lay,
  lines,
  mostShort,
  readWhatIf,
  shortFirst,
  writeWhatIf,
  type Line,
} from './whatif'

const family = (id: string, more: Partial<ReserveFamily> = {}): ReserveFamily => ({
  id,
  key: `cutter, ${id}`,
  name: `cutter, ${id}`,
  kind: 'cutter',
  fleet: 10,
  spares: 1,
  on_hand: 1,
  spare_pieces: [],
  failures: 8,
  piece_years: 20,
  per_piece_year: 0.4,
  per_piece_year_lower: 0.2,
  per_piece_year_upper: 0.7,
  repairs: 7,
  open_repairs: 0,
  longest_open_days: null,
  days_away: 20,
  days_away_upper: 41,
  price: null,
  waits: { count: 0, longest_days: 0, now: 0 },
  mean_away: 0.219,
  now: { spares: 1, fill_rate: 0.8, ready_rate: 0.97, shortage: 0.02 },
  words: '',
  ...more,
})
const view = (...families: ReserveFamily[]): ReservesView => ({
  at: '2026-11-25T12:00:00Z',
  from: '2025-01-01',
  until: '2026-11-25',
  families,
  how: [],
})
const NOTHING = readWhatIf(new URLSearchParams())

describe('figures', () => {
  it('never makes certain what is not', () => {
    expect(percent(0.99971)).toBe('over 99.9 %')
    expect(percent(1)).toBe('100 %')
    expect(percent(0.0001)).toBe('under 0.1 %')
    expect(percent(0)).toBe('0 %')
    expect(percent(0.947)).toBe('94.7 %')
    expect(figure(0.001)).toBe('under 0.01')
  })
  it('says an open bound', () => {
    expect(between(3, null)).toBe('at least 3')
    expect(between(null, 1886, days)).toBe('at most 1,886 days')
    expect(between(null, null)).toBe('no bounds')
    expect(days(1)).toBe('1 day')
    expect(days(null)).toBe('unknown')
    expect(figure(-0)).toBe('0')
  })
})

describe('what if', () => {
  it('goes through the address and back', () => {
    let wanted = changed(NOTHING, 'one', 'rate', 1.5)
    wanted = changed(wanted, 'one', 'spares', 3)
    wanted = changed(wanted, 'two', 'price', 4500)
    wanted = { ...wanted, target: 0.9, of: 'fill', budget: 20000 }
    const query = new URLSearchParams()
    for (const [key, value] of Object.entries(writeWhatIf(wanted, query))) if (value) query.set(key, value)
    expect(query.get('f.one')).toBe('x1.5_s3')
    expect(readWhatIf(query)).toEqual(wanted)
  })
  it('leaves the address when it is given back to the record', () => {
    const query = new URLSearchParams('f.one=x1.5&family=one')
    const back = changed(readWhatIf(query), 'one', 'rate', null)
    expect(back.changes).toEqual({})
    expect(writeWhatIf(back, query)['f.one']).toBeNull()
    expect(writeWhatIf(back, query)).not.toHaveProperty('family')
  })
  it('reads nothing out of nonsense', () => {
    const read = readWhatIf(new URLSearchParams('f.one=xabc_q7_d-3&target=7&budget=none'))
    expect(read).toEqual(NOTHING)
  })
  it('takes the price on record unless somebody says another', () => {
    const price = { amount: 742.5, priced_on: '2026-09-01', model: 'Ferrowick Coax 50' }
    expect(lay(family('one', { price })).price).toBe(742.5)
    expect(lay(family('one', { price }), { price: 700 }).price).toBe(700)
    expect(lay(family('one')).price).toBeNull()
    const asked = askFor(view(family('one', { price })), NOTHING).families[0]
    expect([asked?.price, asked?.weight]).toEqual([742.5, 1])
  })
  it('counts what differs from the record; a price is none', () => {
    const both = changed(changed(NOTHING, 'one', 'price', 10), 'one', 'days', 5)
    expect(countChanges(both, [family('one')])).toBe(1)
    expect(countChanges(both, [family('another')])).toBe(0)
  })
  it('lays the rate over the figure and both of its bounds', () => {
    const laid = lay(family('one'), { rate: 2 })
    expect([laid.a_year_lower, laid.a_year, laid.a_year_upper]).toEqual([4, 8, 14])
  })
  it('asks only for families that can be sized, and buys none without a price', () => {
    const asked = askFor(
      view(family('one'), family('two', { days_away: null }), family('three', { spares: 20 })),
      changed(NOTHING, 'three', 'price', 900),
    )
    expect(asked.families.map((f) => [f.id, f.weight])).toEqual([
      ['one', 0],
      ['three', 1],
    ])
    expect(asked.families.every((f) => f.price > 0)).toBe(true)
    expect(asked.up_to).toBe(23)
  })
  it('takes a rate that somebody expects where no failure was seen, and says no bounds for it', () => {
    const none = family('one', { failures: 0, per_piece_year: 0 })
    expect(lay(none, { per: 0.5 })).toMatchObject({ per_piece_year: 0.5, a_year: 5, a_year_upper: null })
  })
  it('needs no spare for a family without a fleet', () => {
    const bare = view(family('one', { fleet: 0, per_piece_year: null, mean_away: null, now: null }))
    expect(askFor(bare, NOTHING).families).toEqual([])
    expect(lines(bare, NOTHING, null)[0]).toMatchObject({ needed: 0, lacking: 0 })
  })
  it('takes days that somebody expects where no repair has ended', () => {
    const asked = askFor(view(family('two', { days_away: null })), changed(NOTHING, 'two', 'days', 14))
    expect(asked.families[0]?.days_away).toBe(14)
  })
  it('asks by the bounds of the record too, and leaves out one that is beyond all sense', () => {
    const asked = askFor(
      view(family('one'), family('two', { days_away_upper: 4000 }), family('three')),
      changed(changed(NOTHING, 'three', 'rate', 2), 'three', 'days', 14),
    )
    const bounds = asked.families.map((f) => [f.per_piece_year_upper, f.days_away_upper])
    expect(bounds).toEqual([
      [0.7, 41],
      [0.7, null],
      [1.4, 14],
    ])
  })
  it('puts the family first whose slot waits, then those with too few, then what nobody knows', () => {
    const line = (id: string, lacking: number | null, reach: Line['reach'], now = 0, fleet = 10) =>
      ({ ...lay(family(id, { fleet, waits: { count: 0, longest_days: 0, now } })), lacking, reach }) as Line
    const list = [
      line('none', 0, null, 0, 0),
      line('enough', 0, 'enough'),
      line('mean', 0, 'by_the_mean'),
      line('unknown', null, null),
      line('short', 2, 'too_few'),
      line('waits', 0, 'enough', 1),
    ]
    const order = shortFirst(list).map((one) => one.family.id)
    expect(order).toEqual(['waits', 'short', 'unknown', 'mean', 'enough', 'none'])
  })
  it('shows the sized stock, and the record only while nothing was changed', () => {
    const stocks = [0, 1, 2].map((spares) => ({ spares, fill_rate: 0, ready_rate: spares / 2, shortage: 1 }))
    const curve = { before: 0, buy: [], spent: 0, shortage: 0, shortage_bound: 0, proved: true, whole: true }
    const sized = {
      id: 'one',
      mean_away: 0.4,
      stocks,
      finite: [],
      needed_fill: 3,
      needed_ready: 2,
      reach_fill: 'too_few' as const,
      reach_ready: 'by_the_mean' as const,
      words: '',
    }
    const sizing: SizingView = { families: [sized], curve }
    const more = changed(NOTHING, 'one', 'spares', 2)
    expect(lines(view(family('one')), NOTHING, sizing)[0]).toMatchObject({ needed: 2, lacking: 1 })
    expect(lines(view(family('one')), more, sizing)[0]).toMatchObject({
      stock: { ready_rate: 1 },
      lacking: 0,
    })
    expect(lines(view(family('one')), NOTHING, null)[0]?.stock?.ready_rate).toBe(0.97)
    expect(lines(view(family('one')), more, null)[0]).toMatchObject({ stock: null, needed: null })
    const list = lines(view(family('two', { now: null }), family('one')), NOTHING, sizing)
    expect(mostShort(list)?.family.id).toBe('one')
  })
})

describe('the pieces behind a family', () => {
  const model = (id: string, hookup: object, kind = 'hose') => ({ id, kind, hookup }) as unknown as Model
  const piece = (tag: string, of: string, more: object = {}) =>
    ({
      id: tag,
      tag,
      model: of,
      state: 'in_service',
      home: { at: 'rig', rig: 'r' },
      ...more,
    }) as unknown as Piece

  it('has the key that the server makes', () => {
    expect(familyKey(model('a', { coupling: 'Flat-face single ', fluid: 'mineral oil' }))).toBe(
      'hose, flat-face single, mineral oil',
    )
    expect(
      familyKey(model('a', { coupling: 'flat', tool_coupling: 'Twin-line', fluid: 'mineral oil' })),
    ).toBe('hose, flat to twin-line, mineral oil')
    expect(familyKey(model('a', { battery: '28V family' }, 'combination_tool'))).toBe(
      'combination tool, 28v family',
    )
    expect(familyKey(model('a', { coupling: 'x' }, 'accessory'))).toBe('accessory')
  })
  it('is a list only when it has as many as the server counted; the retired count for failures alone', () => {
    const models = new Map([['a', model('a', { coupling: 'flat' })]])
    const pieces = [
      piece('H-10', 'a'),
      piece('H-9', 'a'),
      piece('H-1', 'a', { state: 'retired' }),
      piece('H-2', 'a', { home: null }),
    ]
    const of = (id: string) => models.get(id)
    const found = membersOf({ key: 'hose, flat', fleet: 2 }, pieces, of)
    expect(found?.fleet.map((p) => p.tag)).toEqual(['H-9', 'H-10'])
    expect([...(found?.watched ?? [])].toSorted()).toEqual(['H-1', 'H-10', 'H-9'])
    expect(membersOf({ key: 'hose, flat', fleet: 3 }, pieces, of)).toBeNull()
  })
})

describe('reliability rows', () => {
  const row = (name: string, mtbf_days: number | null, verdict = 'too_few') =>
    ({
      key: name,
      name,
      pieces: 2,
      rates: { failures: 1, planned: 0, mtbf_days },
      repairs: {},
      trend: { verdict },
      power_law: {},
    }) as unknown as ReliabilityRow
  const rows = [row('b', 100), row('a', null), row('c', 300, 'worsening')]

  it('sorts by any column, and what is unknown comes last either way', () => {
    expect(sorted(rows, 'mtbf', false).map((r) => r.name)).toEqual(['b', 'c', 'a'])
    expect(sorted(rows, 'mtbf', true).map((r) => r.name)).toEqual(['c', 'b', 'a'])
    expect(sorted(rows, 'trend', false)[0]?.name).toBe('c')
    expect(sorted(rows, 'name', true).map((r) => r.name)).toEqual(['c', 'b', 'a'])
  })
  it('goes into a file row by row', () => {
    const table = reliabilityRows(
      { confidence: 0.9, from: '2025-01-01', until: '2026-01-01' } as ReliabilityView,
      sorted(rows, 'name', false),
    )
    const [head = [], ...body] = table
    const of = (name: string) => body.map((line) => line[head.indexOf(name)])
    expect(of('Name')).toEqual(['a', 'b', 'c'])
    expect(of('Trend')[2]).toBe('Worse')
    expect(of('Confidence, %')).toEqual([90, 90, 90])
    expect(body.every((line) => line.length === head.length)).toBe(true)
  })
  it('shows no fit of a few failures', () => {
    const law = { beta: 41 } as ReliabilityRow['power_law']
    expect(fitted({ ...row('a', 1), power_law: law })).toBeNull()
    expect(fitted({ ...row('a', 1, 'no_trend'), power_law: law })?.beta).toBe(41)
  })
})

it('families go into a spreadsheet with their units, and what is not known is empty', () => {
  const whatIf = readWhatIf(new URLSearchParams())
  const view = { from: '2025-01-01', until: '2026-01-01', families: [family('a', { days_away: null })] }
  const [head = [], line = [], ...more] = reserveRows(view, lines(view as ReservesView, whatIf, null), whatIf)
  const of = (name: string) => line[head.indexOf(name)]
  expect(more).toEqual([])
  expect(line).toHaveLength(head.length)
  expect([of('Family'), of('Fleet, pieces'), of('Spares, pieces')]).toEqual(['Cutter, a', 10, 1])
  expect([of('Days away, mean'), of('Too few by, pieces')]).toEqual([null, null])
  expect(of('Time with no slot waiting, %')).toBe(97)
})
