// The board's own reading of the replica: which rigs, in which district, worst first, and why in one line.
import type { Capability, District, Level, Piece, Rig, Station } from '@/api/types'
import { bestNear, FOLLOWS, gapWords, nearWords } from '@/words/gap'
import { levelOrder } from '@/words/level'
import { moment } from '@/words/time'

export interface BoardRig {
  rig: Rig
  station: Station | undefined
  capability: Capability | undefined
  level: Level | undefined
  why: string[]
}
export interface BoardDistrict {
  id: string
  name: string
  minimum: number
  full: number
  limited: number
  none: number
  short: boolean
  rigs: BoardRig[]
}
export interface Filter {
  district: string
  level: string
  text: string
}

/** One sentence for each thing that is missing; the optional ones do not lower a rig and are not named here. */
export function whyOf(
  rig: Rig,
  capability: Capability | undefined,
  slotName: (slot: string) => string,
  pieceOf: (id: string) => Piece | undefined,
  now = new Date(),
): string[] {
  if (!capability) {
    return [
      rig.rig_class ? 'Not computed yet' : 'No rig class: the coordinator has not said what it must carry',
    ]
  }
  const gaps: string[] = []
  const follows = new Map<string, string[]>()
  for (const gap of capability.gaps) {
    if (gap.need === 'optional') continue
    const near = bestNear(gap)
    const piece = near?.piece ? pieceOf(near.piece) : undefined
    if (near && piece && FOLLOWS.has(near.code)) {
      const words = nearWords(near, piece).replace(`${piece.tag}: `, '')
      follows.set(words, [...(follows.get(words) ?? []), slotName(gap.slot)])
    } else gaps.push(`${slotName(gap.slot)}: ${gapWords(gap, pieceOf)}`)
  }
  for (const [words, slots] of follows) gaps.push(`${slots.join(', ')}: ${words}`)
  // What holds for the whole rig stands first only when the rig itself is out; otherwise it follows from the gaps.
  if (rig.in_service) return [...gaps, ...capability.also]
  const out = `Rig out of service since ${moment(rig.out_since, now)}: ${rig.out_reason ?? 'no reason given'}`
  return [out, ...gaps]
}

export function buildBoard(
  districts: District[],
  rigs: Rig[],
  stationOf: (id: string) => Station | undefined,
  capabilityOf: (id: string) => Capability | undefined,
  slotName: (rig: Rig, slot: string) => string,
  pieceOf: (id: string) => Piece | undefined = () => undefined,
  whole = true,
): BoardDistrict[] {
  const rows = new Map<string, BoardDistrict>()
  const byName = (a: { name: string }, b: { name: string }) =>
    a.name.localeCompare(b.name, 'en', { numeric: true })
  const row = (id: string, name: string, minimum: number) => {
    let known = rows.get(id)
    if (!known)
      rows.set(id, (known = { id, name, minimum, full: 0, limited: 0, none: 0, short: false, rigs: [] }))
    return known
  }
  for (const d of districts.toSorted(byName)) row(d.id, d.name, d.min_full)
  for (const rig of rigs) {
    const station = stationOf(rig.station)
    const capability = capabilityOf(rig.id)
    const into = rows.get(station?.district ?? '') ?? row('', 'No district', 0)
    const level = capability?.level
    if (level) into[level] += 1
    into.rigs.push({
      rig,
      station,
      capability,
      level,
      why: whyOf(rig, capability, (slot) => slotName(rig, slot), pieceOf),
    })
  }
  // Where only one station is kept, nothing is known of the other rigs of its district, nor of other districts.
  const list = [...rows.values()].filter((d) => whole || d.rigs.length)
  for (const d of list) {
    d.short = whole && d.full < d.minimum
    d.rigs.sort((a, b) => levelOrder(a.level) - levelOrder(b.level) || byName(a.rig, b.rig))
  }
  return list.sort((a, b) => Number(b.short) - Number(a.short) || byName(a, b))
}

export function filterBoard(board: BoardDistrict[], filter: Filter): BoardDistrict[] {
  const text = filter.text.trim().toLowerCase()
  return board
    .filter((d) => !filter.district || d.id === filter.district)
    .map((d) => ({
      ...d,
      rigs: d.rigs.filter((r) => {
        if (filter.level && (r.level ?? 'unknown') !== filter.level) return false
        return (
          !text || `${r.rig.name} ${r.station?.name ?? ''} ${r.why.join(' ')}`.toLowerCase().includes(text)
        )
      }),
    }))
    .filter((d) => d.rigs.length > 0 || (!filter.level && !text))
}
