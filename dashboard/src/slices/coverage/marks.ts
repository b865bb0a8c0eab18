// Everything that the map shows, and the list beside it says: one mark for each zone, rig and station.
import type { CoverageView, Level, Site, ZoneLine } from '@/api/types'
import { levelWord } from '@/words/level'
import { amount, minutesWords, plural } from '@/words/share'
import { byName } from '@/words/order'
import type { MapMark } from './mark'
import { radius, reachOf, reachWord } from './reach'

const STATION = 6
const RIG = 6
/** A zone without a full rig has the name `none` already. */
const SHAPES: Record<Level, string> = {
  not_judged: 'unjudged',
  none: 'open',
  limited: 'limited',
  full: 'full',
  heavy: 'full',
}

export function marksOf(view: CoverageView, zones: ZoneLine[], stations: Site[], best: string[]): MapMark[] {
  const counts = view.counts ?? 'demand'
  const heaviest = view.zones.reduce((most, zone) => Math.max(most, zone.weight), 0)
  const rigName = new Map(view.rigs.map((rig) => [rig.id, rig.name]))
  const told = (zone: ZoneLine) => {
    const first = zone.first
      ? `${rigName.get(zone.first) ?? 'a rig'} in ${minutesWords(zone.first_minutes)}`
      : ''
    const second = zone.second
      ? `, ${rigName.get(zone.second) ?? 'a rig'} in ${minutesWords(zone.second_minutes)}`
      : ''
    const none =
      zone.nearest_minutes === null || zone.nearest_minutes === undefined
        ? 'no time known'
        : `nearest rig of any level in ${minutesWords(zone.nearest_minutes)}`
    return `${amount(zone.weight)} ${counts}; ${first ? first + second : none}`
  }
  const marks: MapMark[] = zones.map((zone) => {
    const reach = reachOf(zone)
    const { id, name, lat, lon } = zone
    const r = radius(zone.weight, heaviest, view.zones.length)
    return {
      id,
      kind: 'zone',
      name,
      word: reachWord(reach),
      detail: told(zone),
      shape: reach,
      r,
      lat,
      lon,
      dx: 0,
      dy: 0,
    }
  })

  const at = new Map<string, Omit<Site, 'gain' | 'has_full'> & { rigs: CoverageView['rigs'] }>()
  for (const { id, name, lat, lon } of stations) at.set(id, { id, name, lat, lon, rigs: [] })
  for (const rig of view.rigs) {
    const { station: id, station_name: name, lat, lon } = rig
    const there = at.get(id) ?? { id, name, lat, lon, rigs: [] }
    there.rigs.push(rig)
    at.set(id, there)
  }
  const gains = new Map(stations.map((s) => [s.id, s.gain]))
  for (const { id, name, lat, lon, rigs } of [...at.values()].sort(byName)) {
    const place = best.includes(id)
    const gain = gains.get(id) ?? 0
    const alone = gain ? `; a reserve set here alone would add ${amount(gain)} ${counts}` : ''
    marks.push({
      id,
      kind: 'station',
      name,
      word: place ? 'Place for a reserve set' : 'Station',
      detail: (rigs.length ? plural(rigs.length, 'rig') : 'no rig') + alone,
      shape: place ? 'site' : 'station',
      r: place ? STATION + 4 : STATION,
      lat,
      lon,
      dx: 0,
      dy: 0,
    })
    rigs.sort(byName).forEach((rig, i) =>
      marks.push({
        id: rig.id,
        kind: 'rig',
        name: rig.name,
        word: levelWord(rig.level),
        detail: `at ${name}`,
        shape: SHAPES[rig.level],
        r: RIG,
        lat,
        lon,
        dx: (i - (rigs.length - 1) / 2) * (2 * RIG + 3),
        dy: STATION + RIG + 4,
        home: id,
      }),
    )
  }
  return marks
}
