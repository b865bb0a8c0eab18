// When a shift began, by the agency's clock.
import { clock } from './time'

const MINUTE = 60_000
const DAY_MINUTES = 1440
const minutesOf = (time: string) => Number(time.slice(0, 2)) * 60 + Number(time.slice(3, 5))

/** The last instant at which the agency's clock showed this time, over a night on which the clocks change too. */
export function lastAt(time: string, now: Date): Date {
  const back = (minutesOf(clock(now)) - minutesOf(time) + DAY_MINUTES) % DAY_MINUTES
  const at = new Date(Math.floor(now.getTime() / MINUTE) * MINUTE - back * MINUTE)
  // The clocks were put on or back in between: by as much as its clock is wrong now.
  const wrong = (minutesOf(time) - minutesOf(clock(at)) + DAY_MINUTES * 1.5) % DAY_MINUTES
  return new Date(at.getTime() + (wrong - DAY_MINUTES / 2) * MINUTE)
}

/** The duty day begins at `begins`; half of it on is the other change of shift. */
const changes = (begins: string) => {
  const half = (minutesOf(begins) + DAY_MINUTES / 2) % DAY_MINUTES
  const two = (n: number) => String(n).padStart(2, '0')
  return [begins.slice(0, 5), `${two(Math.floor(half / 60))}:${two(half % 60)}`]
}
const FRESH_HOURS = 6

/** What a list begins with: the change of shift before, unless it is so fresh that the one before that is asked about. */
export function shiftBefore(now: Date, begins: string): Date {
  const all = changes(begins).map((time) => lastAt(time, now))
  const old = all.filter((at) => now.getTime() - at.getTime() >= FRESH_HOURS * 60 * MINUTE)
  return new Date(Math.max(...(old.length ? old : all).map((at) => at.getTime())))
}
/** Those that one may choose: both changes of shift, and a whole day. */
export const shiftChoices = (now: Date, begins: string): Date[] =>
  [...changes(begins).map((time) => lastAt(time, now)), new Date(now.getTime() - DAY_MINUTES * MINUTE)].sort(
    (a, b) => b.getTime() - a.getTime(),
  )

/** So much of a duty day is over when the crew that had it writes its handover. */
const WHOLE_HOURS = 22

/** Begins of the duty day: the last, and the one before it. */
function dutyStarts(now: Date, begins: string): [Date, Date] {
  const last = lastAt(begins, now)
  return [last, lastAt(begins, new Date(last.getTime() - MINUTE))]
}
/** What a handover begins with, so that a crew of 24 hours sees the whole of its shift: the begin of the duty day before, unless the
 *  one that runs is nearly over. */
export function dutySince(now: Date, begins: string): Date {
  const [last, before] = dutyStarts(now, begins)
  return now.getTime() - last.getTime() >= WHOLE_HOURS * 60 * MINUTE ? last : before
}
/** Those that one may choose for it: the last begin of the duty day, twelve hours before it, and the begin before; the latest first. */
export function dutyChoices(now: Date, begins: string): Date[] {
  const [last, before] = dutyStarts(now, begins)
  return [last, lastAt(changes(begins)[1] ?? begins, last), before]
}
