// Marks that would lie on each other, gathered: zones, and stations with their rigs.
import Supercluster from 'supercluster'
import { plural } from '@/words/share'
import type { PlacedMark } from './mark'

export interface Cluster {
  id: string
  lat: number
  lon: number
  marks: PlacedMark[]
  /** The zoom at which it falls apart. */
  opens: number
}
export interface Gathered {
  single: PlacedMark[]
  clusters: Cluster[]
}
/** What is gathered as one: a zone, or a station with its rigs. */
type Unit = PlacedMark[]

/** What is nearer lies on each other, pixels: as far apart as two clusters have to be. */
const APART = 38
/** An index knows whole zooms; between them are so many steps, each with an index of its own. */
const STEPS = 4
/** From the next zoom on nothing is gathered, so that what has one place in common can be reached too. */
const LAST = 16
/** Leaflet's world is so wide at zoom 0. */
const WORLD = 256
const EVERYWHERE: [number, number, number, number] = [-180, -90, 180, 90]

/** What comes back says what is drawn at a zoom. What is chosen always stands alone. */
export function gatherer(marks: PlacedMark[]): (zoom: number, chosen: string) => Gathered {
  const homes = new Map<string, Unit>()
  const units: Unit[] = []
  for (const mark of marks) {
    const home = homes.get(mark.home ?? '')
    if (home) {
      home.push(mark)
      continue
    }
    const unit = [mark]
    units.push(unit)
    if (mark.kind === 'station') homes.set(mark.id, unit)
  }
  const indexes = new Map<number, ReturnType<typeof indexOf>>()
  return (zoom, chosen) => {
    const past = Math.floor((zoom - Math.floor(zoom)) * STEPS) / STEPS
    const index = indexes.get(past) ?? indexOf(units, past)
    indexes.set(past, index)
    return index(Math.floor(zoom), chosen)
  }
}

/** For zooms so much past a whole one. */
function indexOf(units: Unit[], past: number) {
  const radius = APART / 2 ** past
  const index = new Supercluster<{ unit: Unit }>({ radius, extent: WORLD, maxZoom: LAST })
  index.load(
    units.flatMap((unit) => {
      const first = unit[0]
      if (!first) return []
      const geometry = { type: 'Point' as const, coordinates: [first.lon, first.lat] }
      return [{ type: 'Feature' as const, properties: { unit }, geometry }]
    }),
  )
  return (zoom: number, chosen: string): Gathered => {
    const out: Gathered = { single: [], clusters: [] }
    for (const { geometry, properties } of index.getClusters(EVERYWHERE, zoom)) {
      if (!('cluster_id' in properties)) {
        out.single.push(...(properties as { unit: Unit }).unit)
        continue
      }
      const at = properties.cluster_id as number
      const inside = index.getLeaves(at, Infinity).map((leaf) => leaf.properties?.unit ?? [])
      const alone = inside.filter((unit) => unit.some((m) => m.id === chosen))
      const together = inside.filter((unit) => !alone.includes(unit)).flat()
      out.single.push(...alone.flat())
      const [lon = 0, lat = 0] = geometry.coordinates
      const opens = index.getClusterExpansionZoom(at) + past
      const cluster = { id: `cluster-${at}`, lat, lon, marks: together, opens }
      // A zone beside a station says more by its shape than by a number.
      if (zonesIn(cluster) > 1 || stationsIn(cluster) > 1) out.clusters.push(cluster)
      else out.single.push(...together)
    }
    return out
  }
}

const isOpen = (mark: PlacedMark) => mark.kind === 'zone' && mark.shape === 'none'
const count = (cluster: Cluster, which: (mark: PlacedMark) => boolean) => cluster.marks.filter(which).length
export const zonesIn = (cluster: Cluster) => count(cluster, (m) => m.kind === 'zone')
export const stationsIn = (cluster: Cluster) => count(cluster, (m) => m.kind === 'station')
/** The number that it shows: of zones, or of stations where it holds none. */
export const numberOf = (cluster: Cluster) => zonesIn(cluster) || stationsIn(cluster)
/** How many of its zones nobody reaches in time. */
export const openIn = (cluster: Cluster) => count(cluster, isOpen)

/** What a cluster holds, in words. */
export function heldIn(cluster: Cluster): string {
  const [zones, open, stations] = [zonesIn(cluster), openIn(cluster), stationsIn(cluster)]
  const full = open ? `${open.toLocaleString('en')} without a full rig` : 'none without a full rig'
  const rigs = count(cluster, (m) => m.kind === 'rig')
  return [
    zones && `${plural(zones, 'zone')}, ${full} in time`,
    stations && `${plural(stations, 'station')} with ${rigs ? plural(rigs, 'rig') : 'no rig'}`,
  ]
    .filter(Boolean)
    .join('; ')
}

/** What is drawn later lies on top: orientation, reached zones, stations, rigs, what nobody reaches, what is chosen. */
export function layerOf(mark: PlacedMark, faint: boolean, chosen: boolean): number {
  if (faint) return 0
  if (chosen) return 6
  if (isOpen(mark)) return 5
  return mark.kind === 'zone' ? 1 : mark.kind === 'station' ? 2 : 3
}
export const layerOfCluster = (cluster: Cluster): number => (openIn(cluster) ? 5 : 4)
