import { describe, expect, it } from 'vitest'
import type { CoverageView, Demand, ZoneLine } from '@/api/types'
import { nextSpot, under } from './chart'
import { compare, sortZones, timesCsv, wholeOf, zonesCsv } from './demand'
import { marksOf } from './marks'
import { radius, reachOf, typed, zonesOf, type Wanted } from './reach'
import { curveOf, sureWords } from './sites'

const zone = (id: string, weight: number, more: Partial<ZoneLine> = {}): ZoneLine => ({
  id,
  name: `Zone ${id}`,
  lat: 42,
  lon: -108,
  weight,
  ...more,
})
const view: CoverageView = {
  revision: 1,
  at: '2026-11-25T18:00:00Z',
  target_minutes: 8,
  detour: 1.3,
  counts: 'crashes a year',
  measured: 0,
  by_curve: 3,
  rigs: [
    {
      id: 'r1',
      name: 'Engine 1',
      station: 's1',
      station_name: 'Station 1',
      district: 'd1',
      lat: 42,
      lon: -108,
      level: 'full',
    },
    {
      id: 'r2',
      name: 'Engine 2',
      station: 's1',
      station_name: 'Station 1',
      district: 'd1',
      lat: 42,
      lon: -108,
      level: 'none',
    },
  ],
  zones: [
    zone('a', 5, { first: 'r1', first_minutes: 2, second: 'r3', district: 'd1' }),
    zone('b', 20, { first: 'r1', first_minutes: 3, district: 'd1' }),
    zone('c', 10, { district: 'd2', nearest_minutes: 12 }),
  ],
  districts: [],
  total: 35,
  first: 25,
  first_share: 25 / 35,
  second: 5,
  second_share: 5 / 35,
  losses: [{ rig: 'r1', weight: 20, second_weight: 0, zones: ['b'], words: '' }],
  gains: [{ rig: 'r2', weight: 10, second_weight: 0, zones: ['c'], words: '' }],
  left_out: [],
  words: '',
}
const none: Wanted = { reach: '', district: '', lost: '', gain: '', rig: '', text: '' }
const ids = (wanted: Partial<Wanted>) => zonesOf(view, { ...none, ...wanted }).map((z) => z.id)

describe('the zones behind a number', () => {
  it('are told apart by how many full rigs reach them', () => {
    expect(view.zones.map(reachOf)).toEqual(['twice', 'once', 'none'])
    expect(ids({})).toEqual(['c', 'b', 'a'])
    expect(ids({ reach: 'first' })).toEqual(['b', 'a'])
    expect(ids({ reach: 'twice' })).toEqual(['a'])
    expect(ids({ reach: 'none' })).toEqual(['c'])
  })
  it('are those of a district, of a loss, of a gain', () => {
    expect(ids({ district: 'd2' })).toEqual(['c'])
    expect(ids({ lost: 'r1' })).toEqual(['b'])
    expect(ids({ gain: 'r2' })).toEqual(['c'])
    expect(ids({ rig: 'r1' })).toEqual(['b', 'a'])
    expect(ids({ gain: 'nobody' })).toEqual([])
  })
  it('takes numbers from the address only when they can be', () => {
    expect(typed('7,5', 0, 100)).toBe(7.5)
    expect(typed('', 0, 100)).toBeNull()
    expect(typed('x', 0, 100)).toBeNull()
    expect(typed('0.5', 1, 10)).toBeNull()
  })
})

describe('the map', () => {
  it('walks to the nearest mark that way, straight ahead before aside', () => {
    const spots = [
      { id: 'from', x: 0, y: 0 },
      { id: 'near', x: 40, y: 2 },
      { id: 'aside', x: 20, y: 50 },
      { id: 'left', x: -30, y: 0 },
    ]
    const from = { id: 'from', x: 0, y: 0 }
    expect(nextSpot(from, spots, 'right')?.id).toBe('near')
    expect(nextSpot(from, spots, 'down')?.id).toBe('aside')
    expect(nextSpot(from, spots, 'left')?.id).toBe('left')
    expect(nextSpot(from, spots, 'up')).toBeUndefined()
    expect(under(38, 0, spots, 10).map((s) => s.id)).toEqual(['near'])
  })
  it('marks each zone, station and rig once, and a rig without capability is no zone', () => {
    const marks = marksOf(
      view,
      view.zones,
      [{ id: 's1', name: 'Station 1', lat: 42, lon: -108, gain: 0, has_full: true }],
      ['s1'],
    )
    expect(marks.map((m) => m.id)).toEqual(['a', 'b', 'c', 's1', 'r1', 'r2'])
    expect(marks.find((m) => m.id === 's1')?.word).toBe('Place for a reserve set')
    expect(marks.find((m) => m.id === 'r2')?.shape).toBe('open')
    expect(marks.find((m) => m.id === 'c')?.detail).toContain('nearest rig of any level in 12 min')
    expect(radius(20, 20)).toBeGreaterThan(radius(5, 20))
  })
})

describe('reserve sets', () => {
  const best = { sets: 1, places: ['s1'], value: 60, share: 0.6, bound: 60, gap: 0, proved: true }
  it('says how sure it is', () => {
    expect(sureWords(best, 100)).toContain('Exact')
    expect(sureWords({ ...best, proved: false, bound: 65 }, 100)).toContain('at most 5 % more')
  })
  it('draws more sets never lower', () => {
    const curve = curveOf({
      total: 100,
      already: 50,
      coverable: 70,
      gains: [],
      best: [best, { ...best, sets: 2, value: 70, share: 0.7 }],
      words: '',
    })
    const ys = curve.points.map((p) => p.y)
    expect(ys).toEqual(ys.toSorted((a, b) => b - a))
    expect(curve.points.map((p) => p.sets)).toEqual([0, 1, 2])
    expect(curve.points.at(-1)?.y).toBeCloseTo(curve.most)
  })
})

describe('a demand', () => {
  const demand: Demand = {
    id: 'ag',
    source: 'counts',
    counts: 'crashes a year',
    target_minutes: 8,
    detour: 1.3,
    zones: [zone('a', 1), zone('b', 2)],
    times: { source: 'road', stations: ['s2'], minutes: [[4], [null]] },
    rev: 3,
  }
  it('says what a file would change', () => {
    const next = [zone('a', 1), zone('b', 9), zone('n', 1)]
    const change = compare([...demand.zones, zone('x', 1)], next)
    expect([change.added.length, change.gone.length, change.changed, change.kept]).toEqual([1, 1, 1, 1])
  })
  it('is set again whole for an undo, also without times', () => {
    expect(wholeOf(demand)).not.toHaveProperty('rev')
    expect(wholeOf({ ...demand, times: undefined }).times).toBeNull()
  })
  it('goes into files that can be read again', () => {
    const file = zonesCsv([{ ...zone('a', 1.5), name: 'Mill, "old"' }])
    expect(file).toBe('name,latitude,longitude,weight\r\n"Mill, ""old""",42,-108,1.5\r\n')
    const stations = [
      { id: 's1', name: 'One' },
      { id: 's2', name: 'Two' },
    ]
    expect(timesCsv(demand, stations)).toBe('zone,One,Two\r\nZone a,,4\r\nZone b,,\r\n')
  })
  it('goes into files that no spreadsheet runs', () => {
    const formula = '=HYPERLINK("https://elsewhere.example")'
    const named = { ...demand, zones: [{ ...zone('a', 1), name: formula }] }
    expect(zonesCsv(named.zones).split('\r\n')[1]).toMatch(/^"'=HYPERLINK/)
    const [head, line] = timesCsv(named, [{ id: 's1', name: '+1' }]).split('\r\n')
    expect(head).toBe("zone,'+1")
    expect(line).toMatch(/^"'=HYPERLINK/)
  })
  it('is sorted both ways', () => {
    expect(sortZones(demand.zones, 'weight', true).map((z) => z.id)).toEqual(['b', 'a'])
    expect(sortZones(demand.zones, 'name', false).map((z) => z.id)).toEqual(['a', 'b'])
  })
})
