// The zones behind the map as rows of a spreadsheet.
import type { CoverageView, ZoneLine } from '@/api/types'
import { reachOf, reachWord } from './reach'

export function zoneRows(view: CoverageView, zones: readonly ZoneLine[]) {
  const rig = (id: string | null | undefined) => view.rigs.find((one) => one.id === id)?.name ?? null
  const district = (id: string | null | undefined) =>
    view.districts.find((one) => one.id === id)?.name ?? null
  const head = [
    ...[
      'Zone',
      'District',
      `Demand, ${view.counts ?? 'weight'}`,
      `Reach within ${view.target_minutes} minutes`,
    ],
    ...['First full rig', 'First full rig, minutes', 'Second full rig', 'Second full rig, minutes'],
    ...['Quickest rig of any level, minutes', 'Latitude, degrees', 'Longitude, degrees', 'As of'],
  ]
  const body = zones.map((zone) => [
    ...[zone.name, district(zone.district), zone.weight, reachWord(reachOf(zone))],
    ...[rig(zone.first), zone.first_minutes ?? null, rig(zone.second), zone.second_minutes ?? null],
    ...[zone.nearest_minutes ?? null, zone.lat, zone.lon, view.at],
  ])
  return [head, ...body]
}
