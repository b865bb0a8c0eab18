// When checks are due, as a crew says it.
import type { CheckDue } from '@/api/types'
import { capital } from './plans'
import { ago, clock, dateIn, moment, spoken } from './time'

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
  if (due.state === 'not_yet') return capital(notYet(due.why, now))
  const state = dueState(due, now)
  if (state === 'today') return `Due today at ${clock(due.at)}`
  return state === 'overdue' ? `Overdue since ${moment(due.at, now)}` : `Due ${moment(due.at, now)}`
}

/** "due at once after the next use", "not due yet: 12 of 50 uses since the last pass". */
const notYet = (why: string, now: Date) =>
  `${why.startsWith('due ') ? '' : 'not due yet: '}${spoken(why, now)}`

/** The day and hour, said so that it stands in a sentence. */
const when = (at: string, now: Date) =>
  dateIn(new Date(at)) === dateIn(now) ? `today at ${clock(at)}` : moment(at, now)

/**
 * After the name of the check: "due Mon 23 Nov 08:00, 5 days late; the piece is not counted since Wed 25 Nov 08:00". What is not checked
 * counts until the grace of the plan and the policy is over.
 */
export function dueSaid(due: CheckDue, now: Date): string {
  if (due.state === 'unknown') return `nobody knows when it is due: ${spoken(due.why, now)}`
  if (due.state === 'not_yet') return notYet(due.why, now)
  const late = dueState(due, now) === 'overdue'
  const first = `due ${when(due.at, now)}${late ? `, ${ago(due.at, now)} late` : ''}`
  const from = due.counts_from
  if (!from) return late ? `${first}; by the policy it counts all the same` : first
  if (new Date(from).getTime() <= now.getTime())
    return `${first}; the piece is not counted since ${from === due.at ? 'then' : when(from, now)}`
  return `${first}; ${late ? 'still counts' : 'counts'} until ${when(from, now)}`
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
    unknown ? `${today || since ? unknown : checks(unknown)} with no known date` : '',
  ]
  return parts.filter(Boolean).join(', ')
}
