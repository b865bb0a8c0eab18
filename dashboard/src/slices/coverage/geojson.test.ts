import { describe, expect, it } from 'vitest'
import { boxOf, linesOf, MOST_BYTES, MOST_LINES, MOST_POINTS, readLines } from './geojson'

const around = boxOf([
  { lat: 42, lon: -108.6 },
  { lat: 42.5, lon: -108.1 },
])
const square = [
  [-108.5, 42.1],
  [-108.2, 42.1],
  [-108.2, 42.4],
  [-108.5, 42.1],
]
const feature = (geometry: object | null) => ({ type: 'Feature', properties: { name: 'North' }, geometry })
const file = (...features: object[]) => JSON.stringify({ type: 'FeatureCollection', features })
const read = (text: string, near = around) => linesOf(text, 'county.geojson', near)

describe('a file of boundaries and roads', () => {
  it('gives its areas and lines, and counts the points that are not drawn', () => {
    const own = read(
      file(
        feature({ type: 'Polygon', coordinates: [square] }),
        feature({ type: 'MultiPolygon', coordinates: [[square], [square]] }),
        feature({ type: 'LineString', coordinates: square }),
        feature({ type: 'MultiLineString', coordinates: [square, square] }),
        feature({ type: 'Point', coordinates: [-108.3, 42.2] }),
        feature({ type: 'MultiPoint', coordinates: [square[0], square[1]] }),
        feature({ type: 'GeometryCollection', geometries: [{ type: 'LineString', coordinates: square }] }),
        feature(null),
      ),
    )
    expect([own.areas, own.roads, own.left]).toEqual([3, 4, 3])
    expect(own.lines.features).toHaveLength(7)
  })
  it('may be a single feature or a bare shape, with heights and with a byte order mark', () => {
    const high = square.map((place) => [...place, 1200])
    const own = read(`\uFEFF${JSON.stringify({ type: 'LineString', coordinates: high })}`)
    expect(own.lines.features[0]?.geometry.coordinates).toEqual(square)
    expect(read(JSON.stringify(feature({ type: 'Polygon', coordinates: [square] }))).areas).toBe(1)
  })
  it('keeps nothing of what its lines are called', () => {
    const own = read(file(feature({ type: 'Polygon', coordinates: [square] })))
    expect(JSON.stringify(own.lines)).not.toContain('North')
  })
})

describe('a file that cannot be shown says why', () => {
  const line = (coordinates: unknown) => file(feature({ type: 'LineString', coordinates }))
  const turned = square.map(([lon, lat]) => [lat, lon])
  it.each([
    ['cut off', '{"type":"FeatureCollection","features":[', /no GeoJSON, or it is cut off/],
    ['KML', '<?xml version="1.0"?><kml/>', /looks like KML/],
    ['a zip', 'PK\u0003\u0004', /looks like a zip/],
    ['other JSON', '{"a":1}', /no GeoJSON: nothing in it says/],
    ['null', 'null', /no GeoJSON/],
    ['TopoJSON', '{"type":"Topology","objects":{}}', /TopoJSON/],
    ['no list', '{"type":"FeatureCollection","features":{}}', /FeatureCollection holds no list/],
    ['no coordinates', line(undefined), /are no list/],
    ['words for numbers', line([['-108', '42']]), /not two numbers/],
    ['a place of one number', line([[-108]]), /not two numbers/],
    ['nothing', file(), /holds no area and no line/],
    ['points alone', file(feature({ type: 'Point', coordinates: [-108, 42] })), /holds 1 point, and no area/],
    ['swapped beyond the poles', line(turned), /have changed places/],
    ['metres', line([[500_000, 4_650_000]]), /no degrees.*4,650,000.*EPSG:4326/],
    ['elsewhere', line([[8.5, 47.4]]), /near the zones of this agency/],
  ])('%s', (_, text, why) => expect(() => read(text)).toThrow(why))

  it('swapped within the range is found by where the zones are', () => {
    const here = boxOf([{ lat: 47.4, lon: 8.5 }])
    expect(() => read(line([[47.4, 8.5]]), here)).toThrow(/have changed places/)
    expect(read(line([[8.5, 47.4]]), here).roads).toBe(1)
    // Without a zone on the map nobody can tell.
    expect(read(line([[47.4, 8.5]]), null).roads).toBe(1)
  })
  it('collections without end', () => {
    let nest: object = { type: 'LineString', coordinates: square }
    for (let i = 0; i < 10; i++) nest = { type: 'GeometryCollection', geometries: [nest] }
    expect(() => read(JSON.stringify(nest))).toThrow(/within collections/)
  })
  it('too many lines, and too many points', () => {
    const many = (count: number) => {
      const coordinates = Array.from({ length: count }, () => square.slice(0, 2))
      return file(feature({ type: 'MultiLineString', coordinates }))
    }
    expect(read(many(MOST_LINES)).roads).toBe(MOST_LINES)
    expect(() => read(many(MOST_LINES + 1))).toThrow(/more than 5,000 areas and lines/)
    const long = (count: number) => line(Array.from({ length: count }, () => square[0]))
    expect(read(long(MOST_POINTS)).roads).toBe(1)
    expect(() => read(long(MOST_POINTS + 1))).toThrow(/more than 60,000 points/)
  })
  it('too large, by its size alone', async () => {
    const large = new File(['x'.repeat(MOST_BYTES + 1)], 'roads.geojson')
    expect(await readLines(large, around)).toEqual({
      fault: {
        title: '“roads.geojson” is not shown',
        todo: expect.stringMatching(/^It has 2\.1 MB; 2 MB is the most\./) as string,
      },
    })
    expect(await readLines(new File(['{}'], 'a.json'), around)).toHaveProperty('fault')
    const good = new File([file(feature({ type: 'Polygon', coordinates: [square] }))], 'a.json')
    expect(await readLines(good, around)).toMatchObject({ lines: { name: 'a.json', areas: 1 } })
  })
})
