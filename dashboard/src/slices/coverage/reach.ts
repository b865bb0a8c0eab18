// What a zone is to the full rigs, and which zones stand behind a number.
import type { CoverageView, ZoneLine } from '@/api/types'
import { byName } from '@/words/order'
import { readTyped } from '@/words/typed'

export type Reach = 'twice' | 'once' | 'none'
export const REACHES: readonly Reach[] = ['none', 'once', 'twice']

const WORDS: Record<Reach, string> = {
  twice: 'Reached twice',
  once: 'Reached once',
  none: 'No full rig in time',
}
export const reachWord = (reach: Reach) => WORDS[reach]
export const reachOf = (zone: Pick<ZoneLine, 'first' | 'second'>): Reach =>
  zone.second ? 'twice' : zone.first ? 'once' : 'none'

export interface Wanted {
  /** `first`: by a full rig at all. */
  reach: string
  district: string
  /** Zones whose only full rig this is. */
  lost: string
  /** Zones that this rig would add. */
  gain: string
  /** Zones where this rig is first. */
  rig: string
  text: string
}
export const isFiltered = (wanted: Wanted) => Object.values(wanted).some(Boolean)

/** The zones behind a number: what no full rig reaches first, of those and of the rest the heaviest. */
export function zonesOf(view: CoverageView, wanted: Wanted): ZoneLine[] {
  const of = (list: CoverageView['losses'], rig: string) =>
    new Set(list.find((change) => change.rig === rig)?.zones)
  const lost = wanted.lost ? of(view.losses, wanted.lost) : null
  const gain = wanted.gain ? of(view.gains, wanted.gain) : null
  const text = wanted.text.trim().toLowerCase()
  return view.zones
    .filter((zone) => {
      const reach = reachOf(zone)
      return (
        (!wanted.reach || reach === wanted.reach || (wanted.reach === 'first' && reach !== 'none')) &&
        (!wanted.district || zone.district === wanted.district) &&
        (!lost || lost.has(zone.id)) &&
        (!gain || gain.has(zone.id)) &&
        (!wanted.rig || zone.first === wanted.rig) &&
        (!text || zone.name.toLowerCase().includes(text))
      )
    })
    .sort((a, b) => missedFirst(a, b) || b.weight - a.weight || byName(a, b))
}
const missedFirst = (a: ZoneLine, b: ZoneLine) =>
  Number(reachOf(b) === 'none') - Number(reachOf(a) === 'none')

/** Area follows weight; the lightest can still be hit, and many zones are drawn smaller than few. */
export const radius = (weight: number, heaviest: number, zones = 1) =>
  (4 + 10 * Math.sqrt(heaviest > 0 ? Math.max(0, weight) / heaviest : 0)) *
  Math.min(1, Math.max(0.5, Math.sqrt(150 / zones)))

/** A number as typed in the address; nothing when it cannot be one. */
export function typed(text: string, least: number, most: number): number | null {
  const read = readTyped(text, { least, most })
  return read.is === 'read' ? read.value : null
}
