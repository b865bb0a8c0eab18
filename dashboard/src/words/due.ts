// When checks are due, as a crew says it.
import type { CheckDue } from '@/api/types'
import { clock, dateIn, moment, spoken } from './time'

export type DueState = 'overdue' | 'unknown' | 'today' | 'later' | 'not_yet'

export function dueState(due: CheckDue, now: Date): DueState {
  if (due.state !== 'at') return due.state
  const at = new Date(due.at)
  if (at.getTime() <= now.getTime()) return 'overdue'
  return dateIn(at) === dateIn(now) ? 'today' : 'later'
}
/** What asks for somebody today: overdue, due by tonight, or nobody knows when. */
export const asksToday = (state: DueState) => state === 'overdue' || state === 'today' || state === 'unknown'

/** "Overdue since Mon 23 Nov 07:00", "Due today at 15:00", "Due Mon 30 Nov 08:00". */
export function dueWords(due: CheckDue, now: Date): string {
  if (due.state === 'unknown') return `Nobody knows when it is due: ${spoken(due.why, now)}`
  if (due.state === 'not_yet') return `Not due: ${spoken(due.why, now)}`
  const state = dueState(due, now)
  if (state === 'today') return `Due today at ${clock(due.at)}`
  return state === 'overdue' ? `Overdue since ${moment(due.at, now)}` : `Due ${moment(due.at, now)}`
}

const checks = (count: number) => `${count} ${count === 1 ? 'check' : 'checks'}`

/** "3 checks due today, 1 overdue since Mon 23 Nov 07:00"; empty where nothing asks for anybody. */
export function dueLine(all: CheckDue[], now: Date): string {
  const of = (state: DueState) => all.filter((due) => dueState(due, now) === state)
  const [today, unknown] = [of('today').length, of('unknown').length]
  const late = of('overdue').flatMap((due) => (due.state === 'at' ? [due.at] : []))
  const since = late.toSorted()[0]
  const parts = [
    today ? `${checks(today)} due today` : '',
    since ? `${today ? late.length : checks(late.length)} overdue since ${moment(since, now)}` : '',
    unknown ? `${today || since ? unknown : checks(unknown)} of which nobody knows when` : '',
  ]
  return parts.filter(Boolean).join(', ')
}
