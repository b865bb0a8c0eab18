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
