// A file of boundaries and roads (RFC 7946), read for the map: only where its lines run is taken, nothing of what they are called.
import type { Feature, FeatureCollection, LineString, Polygon, Position } from 'geojson'
import { said } from '@/words/said'
import { plural } from '@/words/share'

export const MOST_BYTES = 2_000_000
/** What is drawn at most; a file with more is refused whole, so that nobody takes a part for all. */
export const MOST_LINES = 5_000
export const MOST_POINTS = 60_000
/** So far beyond the outermost marks a line may begin, degrees. */
const NEAR = 1
/** Collections within collections. */
const DEEPEST = 4

export interface Box {
  south: number
  west: number
  north: number
  east: number
}
export interface OwnLines {
  name: string
  areas: number
  roads: number
  /** Points in it, which are not drawn. */
  left: number
  lines: FeatureCollection<Polygon | LineString>
}
type Read = { lines: OwnLines } | { fault: { title: string; todo: string } }
type Ring = [lon: number, lat: number][]

/** What is wrong with the file, told by this module alone. */
class Wrong extends Error {}

export function boxOf(places: { lat: number; lon: number }[]): Box | null {
  const box = { south: Infinity, west: Infinity, north: -Infinity, east: -Infinity }
  for (const { lat, lon } of places) {
    box.south = Math.min(box.south, lat)
    box.north = Math.max(box.north, lat)
    box.west = Math.min(box.west, lon)
    box.east = Math.max(box.east, lon)
  }
  return places.length ? box : null
}

export async function readLines(file: File, around: Box | null): Promise<Read> {
  try {
    if (file.size > MOST_BYTES)
      throw new Wrong(
        `It has ${Math.ceil(file.size / 1e5) / 10} MB; 2 MB is the most. Simplify its lines, or cut out the area, and export it again.`,
      )
    return { lines: linesOf(await file.text(), file.name, around) }
  } catch (fault) {
    const todo =
      fault instanceof Wrong
        ? fault.message
        : 'This browser could not read the file. Choose it again, or copy it to this computer first.'
    return { fault: { title: `${said(file.name)} is not shown`, todo } }
  }
}

/** Throws what is wrong with it. */
export function linesOf(text: string, name: string, around: Box | null): OwnLines {
  const out: OwnLines = {
    ...{ name: name.slice(0, 200), areas: 0, roads: 0, left: 0 },
    lines: { type: 'FeatureCollection', features: [] },
  }
  const gather = new Gather(out)
  gather.any(parsed(text), 0)
  const { features } = out.lines
  if (!features.length)
    throw new Wrong(
      out.left
        ? `It holds ${plural(out.left, 'point')}, and no area or line. Boundaries are polygons, roads are lines.`
        : 'It holds no area and no line. Boundaries are polygons, roads are lines.',
    )
  const box = boxOf(gather.places)
  if (box) inPlace(box, around)
  return out
}

function parsed(text: string): unknown {
  try {
    return JSON.parse(text.replace(/^\uFEFF/, ''))
  } catch {
    const from = /^\s*</.test(text)
      ? ' It looks like KML, GML or a web page.'
      : text.startsWith('PK')
        ? ' It looks like a zip, such as a shapefile.'
        : ''
    throw new Wrong(
      `It is no GeoJSON, or it is cut off.${from} Export it as GeoJSON from the program that has the map.`,
    )
  }
}

/** Walks through whatever JSON came. */
class Gather {
  readonly places: { lat: number; lon: number }[] = []
  constructor(private readonly out: OwnLines) {}

  any(value: unknown, depth: number) {
    const it = (typeof value === 'object' && value ? value : {}) as Record<string, unknown>
    const all = (list: unknown) => {
      if (!Array.isArray(list)) throw new Wrong(`Its ${String(it['type'])} holds no list. Export it again.`)
      if (depth > DEEPEST) throw new Wrong('It holds collections within collections. Export it flat.')
      for (const one of list) this.any(one, depth + 1)
    }
    const { type, coordinates } = it
    if (type === 'FeatureCollection') all(it['features'])
    else if (type === 'GeometryCollection') all(it['geometries'])
    else if (type === 'Feature') {
      // A feature without a place is allowed.
      if (it['geometry'] !== null) this.any(it['geometry'], depth + 1)
    } else if (type === 'Polygon') this.area(coordinates)
    else if (type === 'MultiPolygon') for (const one of list(coordinates)) this.area(one)
    else if (type === 'LineString') this.road(coordinates)
    else if (type === 'MultiLineString') for (const one of list(coordinates)) this.road(one)
    else if (type === 'Point') this.out.left += 1
    else if (type === 'MultiPoint') this.out.left += list(coordinates).length
    else if (type === 'Topology') throw new Wrong('It is TopoJSON. Export it as GeoJSON.')
    else
      throw new Wrong(
        'It is no GeoJSON: nothing in it says that it is a FeatureCollection. Export it as GeoJSON.',
      )
  }
  private area(rings: unknown) {
    this.out.areas += 1
    this.add({ type: 'Polygon', coordinates: list(rings).map((ring) => this.ring(ring)) })
  }
  private road(line: unknown) {
    this.out.roads += 1
    this.add({ type: 'LineString', coordinates: this.ring(line) })
  }
  private add(geometry: Polygon | LineString) {
    const { features } = this.out.lines
    if (features.length >= MOST_LINES)
      throw new Wrong(
        `It holds more than ${plural(MOST_LINES, 'area or line', 'areas and lines')}, the most that is drawn. Cut out the area, or leave out the small roads.`,
      )
    features.push({ type: 'Feature', properties: {}, geometry } satisfies Feature)
  }
  private ring(value: unknown): Ring {
    return list(value).map((place) => {
      const [lon, lat] = list(place) as Position
      if (!Number.isFinite(lon) || !Number.isFinite(lat))
        throw new Wrong('One of its places is not two numbers, longitude and latitude. Export it again.')
      this.places.push({ lon: lon as number, lat: lat as number })
      if (this.places.length > MOST_POINTS)
        throw new Wrong(
          `Its lines have more than ${plural(MOST_POINTS, 'point')}, the most that is drawn. Simplify its lines and export it again.`,
        )
      return [lon as number, lat as number]
    })
  }
}
function list(value: unknown): unknown[] {
  if (Array.isArray(value)) return value
  throw new Wrong('The coordinates of one of its areas or lines are no list. Export it again.')
}

const overlaps = (a: Box, b: Box) =>
  a.south - NEAR <= b.north && b.south <= a.north + NEAR && a.west - NEAR <= b.east && b.west <= a.east + NEAR
const onEarth = (box: Box) => box.south >= -90 && box.north <= 90 && box.west >= -180 && box.east <= 180

/** Degrees, longitude first, and somewhere near the agency. */
function inPlace(box: Box, around: Box | null) {
  const turned = { south: box.west, north: box.east, west: box.south, east: box.north }
  const turnedFits = onEarth(turned) && (!around || overlaps(around, turned))
  if (onEarth(box) && (!around || overlaps(around, box))) return
  if (turnedFits)
    throw new Wrong(
      'Latitude and longitude have changed places: GeoJSON has the longitude first. Export it again with the longitude first.',
    )
  if (!onEarth(box))
    throw new Wrong(
      `Its numbers are no degrees of latitude and longitude (one is ${Math.round(Math.max(Math.abs(box.north), Math.abs(box.south), Math.abs(box.east), Math.abs(box.west))).toLocaleString('en')}). Export it in WGS 84, which is EPSG:4326.`,
    )
  throw new Wrong('Nothing in it is near the zones of this agency. Choose the file of this area.')
}
