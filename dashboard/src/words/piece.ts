import type { Kind, PieceState } from '@/api/types'
import { byTag } from '@/words/order'

const KINDS: Record<Kind, string> = {
  power_unit: 'Power unit',
  hand_pump: 'Hand pump',
  cutter: 'Cutter',
  spreader: 'Spreader',
  combination_tool: 'Combination tool',
  ram: 'Ram',
  hose: 'Hose',
  adapter: 'Adapter',
  battery: 'Battery',
  charger: 'Charger',
  accessory: 'Accessory',
}
export const KIND_LIST = Object.keys(KINDS) as Kind[]
export const kindWord = (kind: Kind | string | undefined) =>
  kind ? (KINDS[kind as Kind] ?? humanise(kind)) : 'Unknown kind'

const STATES: Record<PieceState, string> = {
  in_service: 'In service',
  out_of_service: 'Out of service',
  missing: 'Missing',
  retired: 'Retired',
}
export const STATE_LIST = Object.keys(STATES) as PieceState[]
export const pieceStateWord = (state: PieceState | undefined) =>
  state ? (STATES[state] ?? humanise(state)) : 'Unknown'

/** How a list names what is asked for. */
export const needWord = (required: boolean) => (required ? 'required' : 'optional')

export function humanise(code: string): string {
  const words = code.replaceAll('_', ' ').replaceAll('-', ' ')
  return words.charAt(0).toUpperCase() + words.slice(1)
}

/** Sources first, tools next, small gear last; within a kind by tag as people count. */
export const byKind = (a: { kind: Kind; tag: string }, b: { kind: Kind; tag: string }) =>
  KIND_LIST.indexOf(a.kind) - KIND_LIST.indexOf(b.kind) || byTag(a, b)
