import { describe, expect, it } from 'vitest'
import { gatherer, heldIn, layerOf, layerOfCluster, openIn, zonesIn } from './clusters'
import type { PlacedMark } from './mark'

const mark = (id: string, lat: number, lon: number, more: Partial<PlacedMark> = {}): PlacedMark => ({
  ...{ id, kind: 'zone', name: id, word: '', detail: '', shape: 'once', r: 8, dx: 0, dy: 0, lat, lon },
  ...more,
})
/** One pixel of longitude at a zoom, in degrees: the world is 256 pixels wide at zoom 0. */
const pixel = (zoom: number) => 360 / (256 * 2 ** zoom)
const ids = (marks: PlacedMark[]) => marks.map((m) => m.id).sort()

describe('zones that lie on each other', () => {
  const zones = [
    mark('a', 42, -108),
    mark('b', 42, -108 + 20 * pixel(10), { shape: 'none' }),
    mark('far', 42, -108 + 200 * pixel(10), { shape: 'none' }),
  ]
  const at = gatherer(zones)
  it('are one mark that says how many, and how many nobody reaches', () => {
    const { single, clusters } = at(10, '')
    expect(ids(single)).toEqual(['far'])
    expect(clusters.map((c) => ids(c.marks))).toEqual([['a', 'b']])
    expect(clusters.map(zonesIn)).toEqual([2])
    expect(clusters.map(openIn)).toEqual([1])
    expect(clusters.map(heldIn)).toEqual(['2 zones, 1 without a full rig in time'])
  })
  it('are all there at each zoom, once', () => {
    for (let zoom = 0; zoom <= 19; zoom += 0.25) {
      const { single, clusters } = at(zoom, 'b')
      expect(ids([...single, ...clusters.flatMap((c) => c.marks)])).toEqual(['a', 'b', 'far'])
    }
  })
  it('fall apart at the zoom that the cluster names', () => {
    // 20 pixels at zoom 10 are 33.6 at 10.75 and 40 at 11: less than 38 lies on each other.
    expect([10, 10.5, 10.75, 11].map((zoom) => at(zoom, '').clusters.length)).toEqual([1, 1, 1, 0])
    for (const zoom of [9, 9.25, 9.5, 9.75, 10, 10.25, 10.75]) {
      const opens = at(zoom, '').clusters[0]?.opens ?? 0
      expect(opens).toBeGreaterThan(zoom)
      expect(at(opens, '').clusters).toHaveLength(0)
    }
  })
  it('leave what is chosen alone, and none is a cluster of one', () => {
    const { single, clusters } = at(10, 'b')
    expect(ids(single)).toEqual(['a', 'b', 'far'])
    expect(clusters).toEqual([])
    expect(at(0, 'b').clusters.map((c) => ids(c.marks))).toEqual([['a', 'far']])
  })
  it('stand apart at the last zoom even at one place', () => {
    const same = gatherer([mark('a', 42, -108), mark('b', 42, -108)])
    expect(same(16, '').clusters.map((c) => c.opens)).toEqual([17])
    expect(ids(same(17, '').single)).toEqual(['a', 'b'])
  })
})

describe('stations that lie on each other', () => {
  const near = -108 + 10 * pixel(10)
  const marks = [
    mark('s1', 42, -108, { kind: 'station', shape: 'station' }),
    mark('r1', 42, -108, { kind: 'rig', shape: 'full', home: 's1' }),
    mark('r2', 42, -108, { kind: 'rig', shape: 'open', home: 's1' }),
    mark('s2', 42, near, { kind: 'station', shape: 'station' }),
    mark('z', 42, near),
  ]
  const of = (...ids: string[]) => gatherer(marks.filter((m) => ids.includes(m.id)))(10, '')
  it('take their rigs along, and zones', () => {
    const { single, clusters } = gatherer(marks)(10, '')
    expect(single).toEqual([])
    expect(clusters.map(heldIn)).toEqual(['1 zone, none without a full rig in time; 2 stations with 2 rigs'])
    expect(of('s1', 's2').clusters.map(heldIn)).toEqual(['2 stations with no rig'])
  })
  it('stand alone where one of their rigs is chosen', () => {
    const { single, clusters } = gatherer(marks)(10, 'r2')
    expect(clusters).toEqual([])
    expect(ids(single)).toEqual(['r1', 'r2', 's1', 's2', 'z'])
  })
  it('a single one beside a single zone keeps its shape', () => {
    expect(of('s1', 'r1', 'z').clusters).toEqual([])
    expect(ids(of('s1', 'r1', 'z').single)).toEqual(['r1', 's1', 'z'])
  })
})

it('what nobody reaches lies on all but what is chosen', () => {
  const open = layerOf(mark('o', 42, -108, { shape: 'none' }), false, false)
  for (const other of [
    mark('z', 42, -108),
    mark('r', 42, -108, { kind: 'rig', shape: 'none' }),
    mark('s', 42, -108, { kind: 'station', shape: 'station' }),
  ])
    expect(layerOf(other, false, false)).toBeLessThan(open)
  expect(layerOf(mark('p', 42, -108), false, true)).toBeGreaterThan(open)
  expect(layerOf(mark('f', 42, -108, { shape: 'none' }), true, false)).toBe(0)
  const held = (shape: string) =>
    gatherer([mark('a', 42, -108, { shape }), mark('b', 42, -108, { shape })])(9, '').clusters.map(
      layerOfCluster,
    )
  expect(held('none')).toEqual([open])
  expect(held('once')[0]).toBeLessThan(open)
})
