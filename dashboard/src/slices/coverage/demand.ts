// What is set, set again for an undo, read from a file and written to one.
import type { Demand, DemandZone } from '@/api/types'
import { csv } from '@/words/csv'
import { byName } from '@/words/order'

/** Everything of a demand as one command sets it: sent again, it is as it was. */
export const wholeOf = ({ id, source, counts, target_minutes, detour, zones, times }: Demand) => ({
  id,
  source,
  counts,
  target_minutes,
  detour,
  zones,
  times: times ?? null,
})

/** What a file of zones would change. */
export function compare(now: DemandZone[], next: DemandZone[]) {
  const before = new Map(now.map((z) => [z.id, z]))
  const after = new Set(next.map((z) => z.id))
  const same = (a: DemandZone, b: DemandZone) => a.lat === b.lat && a.lon === b.lon && a.weight === b.weight
  const known = next.flatMap((z) => {
    const old = before.get(z.id)
    return old ? [same(old, z)] : []
  })
  return {
    added: next.filter((z) => !before.has(z.id)),
    gone: now.filter((z) => !after.has(z.id)),
    changed: known.filter((unchanged) => !unchanged).length,
    kept: known.filter(Boolean).length,
  }
}

export const weightOf = (zones: DemandZone[]) => zones.reduce((sum, z) => sum + z.weight, 0)

/** The file that the import reads again. */
export const zonesCsv = (zones: DemandZone[]) =>
  csv([['name', 'latitude', 'longitude', 'weight'], ...zones.map((z) => [z.name, z.lat, z.lon, z.weight])])

/** Travel times as they are on record, or empty cells to fill in. */
export function timesCsv(demand: Demand, stations: { id: string; name: string }[]): string {
  const column = new Map(demand.times?.stations.map((id, i) => [id, i]))
  const rows = demand.zones.map((zone, row) => [
    zone.name,
    ...stations.map((s) => demand.times?.minutes[row]?.[column.get(s.id) ?? -1] ?? ''),
  ])
  return csv([['zone', ...stations.map((s) => s.name)], ...rows])
}

export type ZoneKey = 'name' | 'weight' | 'lat' | 'lon'
export function sortZones(zones: DemandZone[], key: ZoneKey, down: boolean): DemandZone[] {
  const by = (a: DemandZone, b: DemandZone) => (key === 'name' ? 0 : a[key] - b[key]) || byName(a, b)
  return zones.toSorted((a, b) => (down ? by(b, a) : by(a, b)))
}
