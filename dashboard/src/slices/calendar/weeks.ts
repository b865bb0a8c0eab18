// Days, weeks and what a plan puts into them. A date is "2026-11-30" and has no zone.
import type { DueYear, PlanAsk, PlanPin, PlanVisit, ServicePlanRecord } from '@/api/types'
import { dateLocale } from '@/words/locale'

const DAY_MS = 86_400_000
const at = (day: string) => Date.parse(`${day.slice(0, 10)}T00:00:00Z`)

export const addDays = (day: string, days: number) =>
  new Date(at(day) + days * DAY_MS).toISOString().slice(0, 10)
export const daysFrom = (from: string, to: string) => Math.round((at(to) - at(from)) / DAY_MS)

/** Which day it is in a time zone. */
export const dayIn = (zone: string, now: Date) =>
  new Intl.DateTimeFormat('en-CA', {
    timeZone: zone,
    year: 'numeric',
    month: '2-digit',
    day: '2-digit',
  }).format(now)
/** The Monday after a day. */
export const nextMonday = (day: string) => addDays(day, 7 - ((new Date(at(day)).getUTCDay() + 6) % 7))

const formatIn = (locale: string, options: Intl.DateTimeFormatOptions) =>
  new Intl.DateTimeFormat(locale, { timeZone: 'UTC', ...options })
const format = (options: Intl.DateTimeFormatOptions) => {
  const [us, other] = [formatIn('en-US', options), formatIn('en-GB', options)]
  return (day: string) => (dateLocale() === 'en-US' ? us : other).format(at(day))
}
export const shortDay = format({ day: 'numeric', month: 'short' })
const fullDay = format({ day: 'numeric', month: 'short', year: 'numeric' })
export const monthName = format({ month: 'long', year: 'numeric' })

/** "30 Nov to 6 Dec 2026" */
export const spanWords = (first: string, last: string) =>
  first === last
    ? fullDay(first)
    : `${first.slice(0, 4) === last.slice(0, 4) ? shortDay(first) : fullDay(first)} to ${fullDay(last)}`

/** A sentence with its "2026-11-30" said as "30 Nov 2026". */
export const daysInWords = (words: string) => words.replace(/\b\d{4}-\d\d-\d\d\b/g, (day) => fullDay(day))

type Grid = Pick<PlanAsk, 'first_day' | 'period_days'>
export const firstDayOf = (plan: Grid, period: number) => addDays(plan.first_day, period * plan.period_days)
export const lastDayOf = (plan: Grid, period: number) => addDays(firstDayOf(plan, period + 1), -1)
export const endOf = (plan: Grid & { periods: number }) => lastDayOf(plan, plan.periods - 1)

/** The year is said where it is not the one in which the plan begins. */
const dayOf = (plan: Grid, day: string) =>
  day.slice(0, 4) === plan.first_day.slice(0, 4) ? shortDay(day) : fullDay(day)

/** "the week of 30 Nov", whatever a period's length is. */
export function periodWords(plan: Grid, period: number): string {
  const first = firstDayOf(plan, period)
  if (plan.period_days === 1) return dayOf(plan, first)
  if (plan.period_days === 7) return `the week of ${dayOf(plan, first)}`
  return `${shortDay(first)} to ${dayOf(plan, lastDayOf(plan, period))}`
}
/** "the weeks of 30 Nov to 11 Jan, the week of 5 Apr": runs drawn together. */
export function runWords(plan: Grid, periods: number[]): string {
  const runs: [number, number][] = []
  for (const period of [...new Set(periods)].sort((a, b) => a - b)) {
    const last = runs.at(-1)
    if (last && last[1] + 1 === period) last[1] = period
    else runs.push([period, period])
  }
  const words = ([from, to]: [number, number]) => {
    if (from === to) return periodWords(plan, from)
    if (plan.period_days !== 7)
      return `${dayOf(plan, firstDayOf(plan, from))} to ${dayOf(plan, lastDayOf(plan, to))}`
    return `the weeks of ${dayOf(plan, firstDayOf(plan, from))} to ${dayOf(plan, firstDayOf(plan, to))}`
  }
  return runs.map(words).join(', ')
}
/** What one period is called. */
export const unitOf = (periodDays: number) =>
  periodDays === 7 ? 'week' : periodDays === 1 ? 'day' : 'period'
export const count = (n: number, word: string) => `${n} ${word}${n === 1 ? '' : 's'}`
export const lateWords = (late: number, periodDays: number) =>
  late ? `${count(late, unitOf(periodDays))} late` : ''
export const hoursWords = (hours: number) => `${Math.round(hours * 10) / 10} h`

/** "38 days overdue", "due today", "due in 12 days" */
export function dueWords(due: string, today: string): string {
  const days = daysFrom(today, due)
  if (days < 0) return `${count(-days, 'day')} overdue`
  return days === 0 ? 'due today' : `due in ${count(days, 'day')}`
}

/** A visit with the days on which it is. */
export interface Dated extends PlanVisit {
  plan: string
  first: string
  last: string
}
export function dated(plan: ServicePlanRecord): Dated[] {
  return plan.visits.map((visit) => ({
    ...visit,
    plan: plan.id,
    first: firstDayOf(plan, visit.period),
    last: lastDayOf(plan, visit.period),
  }))
}

export interface Week<V> {
  first: string
  last: string
  now: boolean
  visits: V[]
  /** So many weeks without a visit, drawn together; 0 for a week with visits, or this one. */
  empty: number
}
/** Weeks from the first day to the last one: those with visits, this one, and runs of empty ones drawn together. */
export function weeksOf<V extends { first: string; last: string }>(
  visits: V[],
  span: { first: string; last: string; days: number },
  today: string,
): Week<V>[] {
  const by = new Map<string, Week<V>>()
  const week = (first: string, last: string) => {
    let known = by.get(first)
    if (!known)
      by.set(first, (known = { first, last, now: first <= today && today <= last, visits: [], empty: 0 }))
    return known
  }
  for (let first = span.first; first <= span.last; first = addDays(first, span.days))
    week(first, addDays(first, span.days - 1))
  for (const visit of visits) week(visit.first, visit.last).visits.push(visit)
  const weeks: Week<V>[] = []
  for (const one of [...by.values()].sort((a, b) => a.first.localeCompare(b.first))) {
    const before = weeks.at(-1)
    if (one.visits.length || one.now) weeks.push(one)
    else if (before?.empty) {
      before.empty++
      before.last = one.last
    } else weeks.push({ ...one, empty: 1 })
  }
  return weeks
}

/** Hours of a shop in each period. */
export function loadOf(visits: PlanVisit[], shop: string, periods: number): number[] {
  const hours = Array.from({ length: periods }, () => 0)
  for (const visit of visits)
    if (visit.shop === shop && visit.period < periods)
      hours[visit.period] = (hours[visit.period] ?? 0) + visit.hours
  return hours
}
export const latenessOf = (visits: PlanVisit[]) => visits.reduce((all, visit) => all + visit.late, 0)
export function peakOf(visits: PlanVisit[], periods: number): number {
  const shops = new Set(visits.map((visit) => visit.shop))
  return Math.max(0, ...[...shops].flatMap((shop) => loadOf(visits, shop, periods)))
}

/** The visits with one set put elsewhere by a person, and so pinned. */
export function move(
  visits: PlanVisit[],
  set: string,
  to: { period: number; shop: string },
  due: DueYear | null,
): PlanVisit[] {
  return visits.map((visit) => {
    if (visit.set !== set) return visit
    const by = due?.sets.find((one) => one.set === set)?.due_period
    const late = Math.max(0, to.period - (by ?? visit.period - visit.late))
    return { ...visit, ...to, late, pinned: true }
  })
}
/** Where a period of one plan lies in another: by its first day. Null outside of it. */
export function sameDays(period: number, of: Grid, plan: Grid & { periods: number }): number | null {
  const at = Math.floor(daysFrom(plan.first_day, firstDayOf(of, period)) / plan.period_days)
  return at >= 0 && at < plan.periods ? at : null
}
/** The pinned visits of a plan as pins of the next one, whose days may be others. */
export function pinsOf(visits: PlanVisit[], asked: Grid, ask: PlanAsk): PlanPin[] {
  return visits.flatMap((visit) => {
    const period = sameDays(visit.period, asked, ask)
    if (!visit.pinned || period === null || !ask.shops.some((one) => one.shop === visit.shop)) return []
    return [{ set: visit.set, period, shop: visit.shop }]
  })
}
/** The inputs with other days: closed weeks and pins stay on their days, and go where those are no more in the plan. */
export function redated(ask: PlanAsk, days: { first_day?: string; periods?: number }): PlanAsk {
  const next = { ...ask, ...days }
  const moved = (period: number) => sameDays(period, ask, next)
  return {
    ...next,
    shops: ask.shops.map((one) => ({ ...one, closed: one.closed.flatMap((period) => moved(period) ?? []) })),
    pins: ask.pins.flatMap((pin) => {
      const period = moved(pin.period)
      return period === null ? [] : [{ ...pin, period }]
    }),
  }
}
/** Whether two asks are the same but for what is pinned. */
export const alike = (one: PlanAsk, other: PlanAsk) =>
  JSON.stringify({ ...one, pins: [] }) === JSON.stringify({ ...other, pins: [] })

export interface Trouble {
  key: string
  words: string
}
/** What a plan changed by hand breaks: districts that spare too many, shops with too many hours, sets outside of their windows. */
export function troublesOf(visits: PlanVisit[], ask: PlanAsk, due: DueYear): Trouble[] {
  const found: Trouble[] = []
  const sets = new Map(due.sets.map((set) => [set.set, set]))
  for (const district of due.districts) {
    for (let period = 0; period < ask.periods; period++) {
      const away = visits.filter(
        (visit) =>
          visit.period === period &&
          visit.district === district.id &&
          sets.get(visit.set)?.takes_place !== false,
      )
      const gone = new Set(away.map((visit) => visit.set))
      const reserves = district.reserves.filter((one) => one.for_sets.length)
      const home = reserves.filter((one) => !gone.has(one.set) && one.for_sets.some((set) => gone.has(set)))
      const rigs = away.filter((visit) => !reserves.some((one) => one.set === visit.set))
      const room = (district.by_period[period] ?? 0) + home.length
      if (rigs.length <= room) continue
      found.push({
        key: `${district.id}/${period}`,
        words: `${district.name} would be without ${count(rigs.length, 'set')} in ${periodWords(ask, period)} and can spare ${room}: ${rigs.map((v) => v.name).join(', ')}.`,
      })
    }
  }
  for (const shop of due.shops) {
    loadOf(visits, shop.id, ask.periods).forEach((hours, period) => {
      const room = shop.hours[period] ?? 0
      if (hours <= room + 0.001) return
      found.push({
        key: `${shop.id}/${period}`,
        words: `${shop.name} would have ${hoursWords(hours)} of work in ${periodWords(ask, period)} and has ${hoursWords(room)}.`,
      })
    })
  }
  for (const visit of visits) {
    const set = sets.get(visit.set)
    if (!set || (visit.period >= set.earliest && visit.period <= set.latest)) continue
    found.push({
      key: visit.set,
      words: `${visit.name} is outside of its window, ${periodWords(ask, set.earliest)} to ${periodWords(ask, set.latest)}.`,
    })
  }
  return found
}
