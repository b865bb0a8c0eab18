// Records of use: what was used, on what, for how long.
import type { BodyOf, Id } from '@/api/types'

/** What crews say most about a use. Text is always free as well. */
export const USES = ['Door removal', 'Roof removal', 'Dash lift', 'Lift and crib', 'Machine rescue', 'Drill']
export const MINUTES = [10, 20, 30, 60]

/** The body of `use.record`: only what was said goes along. */
export function useBody(
  id: Id,
  rig: Id,
  pieces: Id[],
  said: { what: string; incident: string; minutes: number | null },
): BodyOf<'use.record'> {
  const body: BodyOf<'use.record'> = { id, rig, pieces }
  if (said.what.trim()) body.what = said.what.trim()
  if (said.incident.trim()) body.incident = said.incident.trim()
  if (said.minutes !== null && said.minutes > 0) body.minutes = Math.round(said.minutes)
  return body
}

/** The pieces of the last use, newest first, that are still aboard and in service; none where it was no use. */
export const sameAsLast = (uses: readonly { pieces: readonly Id[] }[], aboard: readonly Id[]): Id[] =>
  uses.find((use) => use.pieces.length > 0)?.pieces.filter((id) => aboard.includes(id)) ?? []

/** The pieces that a correction may name: those of the use first, then what else is aboard. */
export const offered = (use: { pieces: readonly Id[] }, aboard: readonly Id[]): Id[] => [
  ...new Set([...use.pieces, ...aboard]),
]

/** Whether a correction would say what the record says already. */
export const sameUse = (
  one: { pieces: readonly Id[]; minutes?: number | null },
  other: { pieces: readonly Id[]; minutes?: number | null },
) =>
  (one.minutes ?? null) === (other.minutes ?? null) &&
  one.pieces.length === other.pieces.length &&
  one.pieces.every((id) => other.pieces.includes(id))
