// What runs out next by itself: the dates on record that end an answer, each with the rigs that it is about.
import type { BoardRig } from './board'

export interface RunsOut {
  at: string
  rigs: BoardRig[]
  /** Why, in words, where all of them say so; else of the first. */
  why: string
}
const DAY = 86_400_000

/** Of rigs that have something to lose: the next instants within so many days, the soonest first. */
export function runsOut(rows: readonly BoardRig[], days: number, now: Date, most = 5): RunsOut[] {
  const instants = new Map<string, BoardRig[]>()
  for (const row of rows) {
    const at = row.standing?.holds_until
    if (!at || !row.seen.counted || row.seen.level === 'none' || row.seen.level === 'not_judged') continue
    const ahead = Date.parse(at) - now.getTime()
    if (ahead > 0 && ahead <= days * DAY) instants.set(at, [...(instants.get(at) ?? []), row])
  }
  return [...instants]
    .toSorted(([a], [b]) => a.localeCompare(b))
    .slice(0, most)
    .map(([at, rigs]) => ({ at, rigs, why: rigs[0]?.standing?.holds_until_why ?? '' }))
}
