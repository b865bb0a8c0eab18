// Boundaries and roads as the service keeps them for everybody of the agency, and as a map draws them.
import type { Polygon, Position } from 'geojson'
import type { MapGeometry, MapLines } from '@/api/types'
import type { OwnLines } from './geojson'

/** Of a degree: about a metre. The service keeps no more, and with more digits the longest file would weigh more than a body may. */
const PARTS = 1e5

// No zero has a sign.
const rounded = (degrees: number | undefined) => Math.round((degrees ?? NaN) * PARTS) / PARTS + 0
/** Without heights. */
const place = ([lon, lat]: Position) => [rounded(lon), rounded(lat)]
/** Of a line of one point nothing is drawn, and the service keeps none. */
const drawn = (line: Position[]) => line.length > 1
const rings = (area: Polygon) => area.coordinates.filter(drawn).map((ring) => ring.map(place))

/** What the service is sent. */
export function wireOf({ lines }: OwnLines): Pick<MapGeometry, 'areas' | 'roads'> {
  const all = lines.features.map((f) => f.geometry)
  return {
    areas: all
      .filter((one) => one.type === 'Polygon')
      .map(rings)
      .filter((area) => area.length),
    roads: all.flatMap((one) =>
      one.type === 'LineString' && drawn(one.coordinates) ? [one.coordinates.map(place)] : [],
    ),
  }
}

/** What came from the service, to be drawn like a file. */
export const ownOf = (
  record: MapLines,
  { areas, roads }: Pick<MapGeometry, 'areas' | 'roads'>,
): OwnLines => ({
  name: record.name,
  areas: areas.length,
  roads: roads.length,
  left: 0,
  lines: {
    type: 'FeatureCollection',
    features: [
      ...areas.map((coordinates) => ({ type: 'Polygon' as const, coordinates })),
      ...roads.map((coordinates) => ({ type: 'LineString' as const, coordinates })),
    ].map((geometry) => ({ type: 'Feature' as const, properties: {}, geometry })),
  },
})
