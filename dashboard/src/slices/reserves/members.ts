// Which pieces a family's numbers come from. The server says how many they are; the pieces themselves are in the copy here.
import type { Model, Piece, ReserveFamily } from '@/api/types'
import { byTag } from '@/words/order'

const folded = (name: string) => name.trim().toLowerCase()

/** The key of the family that a model is of, as the server makes it. */
export function familyKey({ kind, hookup }: Pick<Model, 'kind' | 'hookup'>): string {
  const parts = [kind.replaceAll('_', ' ')]
  if (hookup.battery) parts.push(folded(hookup.battery))
  else if (kind !== 'accessory') {
    const { coupling, tool_coupling: other, fluid } = hookup
    if (coupling) {
      const adapts = other && folded(other) !== folded(coupling)
      parts.push(adapts ? `${folded(coupling)} to ${folded(other)}` : folded(coupling))
    }
    if (fluid) parts.push(String(fluid))
  }
  return parts.join(', ')
}

export interface Members {
  /** Pieces with their home on a rig now, by tag. */
  fleet: Piece[]
  /** Those and the retired ones that had it: their failures count as well. */
  watched: Set<string>
}
/** `null` where what is known here does not make the number that the server counted: then no list is better than a wrong one. */
export function membersOf(
  family: Pick<ReserveFamily, 'key' | 'fleet'>,
  pieces: Piece[],
  model: (id: string) => Model | undefined,
): Members | null {
  const watched = pieces.filter((piece) => {
    const of = model(piece.model)
    return piece.home?.at === 'rig' && of && familyKey(of) === family.key
  })
  const fleet = watched.filter((piece) => piece.state !== 'retired').toSorted(byTag)
  return fleet.length === family.fleet ? { fleet, watched: new Set(watched.map((p) => p.id)) } : null
}
