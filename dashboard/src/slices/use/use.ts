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

/** After a call: nobody has said yet, somebody looked it over and found nothing, or something is wrong with it. */
export type Look = 'open' | 'right' | 'wrong'
/** Clocks differ: what was reported a minute before its use was found in it. */
const SLACK_MS = 60_000

/**
 * What is known of each piece of a use. `right`: said on this phone and not sent yet. `wrong` says of a piece since when something is
 * wrong with it, newest or oldest in any order, and that it must not be used.
 */
export function looksAt(
  use: { pieces: readonly Id[]; used_at: string; checks?: readonly { pieces: readonly Id[] }[] },
  right: readonly Id[],
  wrong: (piece: Id) => { out: boolean; reported: readonly string[] },
): Map<Id, Look> {
  const since = Date.parse(use.used_at) - SLACK_MS
  const looked = new Set([...right, ...(use.checks ?? []).flatMap((check) => check.pieces)])
  return new Map(
    use.pieces.map((id) => {
      const { out, reported } = wrong(id)
      if (out || reported.some((at) => Date.parse(at) >= since)) return [id, 'wrong']
      return [id, looked.has(id) ? 'right' : 'open']
    }),
  )
}
