import { describe, expect, it } from 'vitest'
import type { MapLines } from '@/api/types'
import { linesOf } from './geojson'
import { ownOf, wireOf } from './wirelines'

const square = [
  [-108.5, 42.1, 1600],
  [-108.2, 42.1, 1600],
  [-108.2, 42.4, 1600],
  [-108.5, 42.1, 1600],
]
const flat = square.map(([lon, lat]) => [lon, lat])
const read = (...geometries: object[]) =>
  linesOf(JSON.stringify({ type: 'GeometryCollection', geometries }), 'county.geojson', null)
const record: MapLines = {
  ...{ id: 'a', name: 'county.geojson', areas: 1, roads: 1, points: 6, rev: 7 },
  bounds: { south: 42, west: -109, north: 43, east: -108 },
  set_at: '2026-11-25T14:00:00.000000Z',
  set_by: { id: null, name: 'Ann Ames' },
}

describe('lines on their way to the service', () => {
  it('are areas and roads apart, without heights, to a metre', () => {
    const road = [
      [-108.123_456_7, 42.000_004],
      [-0.000_001, 42],
    ]
    const sent = wireOf(
      read(
        { type: 'LineString', coordinates: road },
        { type: 'MultiPolygon', coordinates: [[square, square], [square]] },
      ),
    )
    expect(sent).toEqual({
      areas: [[flat, flat], [flat]],
      roads: [
        [
          [-108.12346, 42],
          [0, 42],
        ],
      ],
    })
  })
  it('leave out only what draws nothing', () => {
    const sent = wireOf(
      read(
        { type: 'LineString', coordinates: [] },
        { type: 'LineString', coordinates: [[-108, 42]] },
        { type: 'Polygon', coordinates: [] },
        { type: 'Polygon', coordinates: [square, [[-108.3, 42.2]]] },
      ),
    )
    expect(sent).toEqual({ areas: [[flat]], roads: [] })
  })
  it('fit a body, as many as there may be', () => {
    const places = Array.from({ length: 12 }, () => [-179.999_994_4, -89.999_994_4])
    const roads = Array.from({ length: 5_000 }, () => ({ type: 'LineString', coordinates: places }))
    expect(JSON.stringify(wireOf(read(...roads))).length).toBeLessThan(1_450_000)
  })
})

it('lines from the service are drawn as those of a file are, and come to the same when they are set again', () => {
  const sent = wireOf(
    read({ type: 'Polygon', coordinates: [square] }, { type: 'LineString', coordinates: square }),
  )
  const own = ownOf(record, sent)
  expect([own.name, own.areas, own.roads, own.left]).toEqual(['county.geojson', 1, 1, 0])
  expect(own.lines.features.map((f) => f.geometry.type)).toEqual(['Polygon', 'LineString'])
  expect(wireOf(own)).toEqual(sent)
})
