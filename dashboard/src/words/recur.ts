// The rules of the calendar that a form can show: each day, week, month or year. Another one is kept as it is written, and what
// falls due by it is the server's to say.
import { clockOf, dayNames, MONTHS, ordinal } from './days'
import { dateLocale } from './locale'

export type Freq = 'DAILY' | 'WEEKLY' | 'MONTHLY' | 'YEARLY'
export interface Rule {
  freq: Freq
  /** Every so many of them. */
  interval: number
  /** Of a week: MO to SU. */
  days: string[]
  /** Of a month: 1 to 31, or -1 for its last. */
  monthDay: number
  /** Of a year: 1 to 12. */
  months: number[]
  /** HH:MM by the wall clock. */
  at: string
}
export const DAYS = ['MO', 'TU', 'WE', 'TH', 'FR', 'SA', 'SU'] as const
const KNOWN = new Set(['FREQ', 'INTERVAL', 'BYDAY', 'BYMONTHDAY', 'BYMONTH'])
const FREQS: Record<string, Set<string>> = {
  DAILY: new Set(),
  WEEKLY: new Set(['BYDAY']),
  MONTHLY: new Set(['BYMONTHDAY']),
  YEARLY: new Set(['BYMONTHDAY', 'BYMONTH']),
}
const utc = (date: string) => new Date(`${date.slice(0, 10)}T00:00:00Z`)
const dayOf = (date: Date) => DAYS[(date.getUTCDay() + 6) % 7] ?? 'MO'
const iso = (date: Date) => date.toISOString().slice(0, 10)
const two = (n: number) => String(n).padStart(2, '0')

/** What a rule and its start say; null where the form has no fields for it. What a rule leaves out, its start says. */
export function readRule(rule: string, start: string): Rule | null {
  const parts = new Map(rule.split(';').map((one) => one.split('=', 2) as [string, string]))
  const freq = parts.get('FREQ') ?? ''
  const own = FREQS[freq]
  const from = utc(start)
  if (!own || Number.isNaN(from.getTime())) return null
  for (const key of parts.keys()) if (!KNOWN.has(key) || (key.startsWith('BY') && !own.has(key))) return null
  const whole = (text: string | undefined) => (text === undefined ? [] : text.split(',').map(Number))
  const days = parts.get('BYDAY')?.split(',') ?? [dayOf(from)]
  const monthDays = whole(parts.get('BYMONTHDAY'))
  const monthDay = monthDays[0] ?? from.getUTCDate()
  const months = parts.has('BYMONTH') ? whole(parts.get('BYMONTH')) : [from.getUTCMonth() + 1]
  const interval = Number(parts.get('INTERVAL') ?? 1)
  if (days.some((one) => !(DAYS as readonly string[]).includes(one)) || monthDays.length > 1) return null
  if (!(Number.isInteger(monthDay) && (monthDay === -1 || (monthDay >= 1 && monthDay <= 31)))) return null
  if (![interval, ...months].every((one) => Number.isInteger(one) && one >= 1)) return null
  return { freq: freq as Freq, interval, days, monthDay, months, at: start.slice(11, 16) || '00:00' }
}

/** The rule as it is sent, and the first day of it from the old start on, so that it begins on a day that it names. */
export function writeRule(rule: Rule, start: string): { rule: string; start: string } {
  const every = rule.interval > 1 ? `;INTERVAL=${rule.interval}` : ''
  const from = utc(start)
  const year = from.getUTCFullYear()
  const on = (month: number) => {
    const last = new Date(Date.UTC(year, month, 0)).getUTCDate()
    const day = rule.monthDay === -1 ? last : rule.monthDay
    return day <= last ? `${year}-${two(month)}-${two(day)}` : null
  }
  const at = (date: string) => `${date}T${rule.at}:00`
  switch (rule.freq) {
    case 'DAILY':
      return { rule: `FREQ=DAILY${every}`, start: at(iso(from)) }
    case 'WEEKLY': {
      const days = DAYS.filter((one) => rule.days.includes(one))
      const date = new Date(from)
      while (days.length && !days.includes(dayOf(date) as never)) date.setUTCDate(date.getUTCDate() + 1)
      return { rule: `FREQ=WEEKLY${every};BYDAY=${days.join(',')}`, start: at(iso(date)) }
    }
    case 'MONTHLY':
      return {
        rule: `FREQ=MONTHLY${every};BYMONTHDAY=${rule.monthDay}`,
        start: at(on(from.getUTCMonth() + 1) ?? on(1) ?? iso(from)),
      }
    case 'YEARLY': {
      const months = rule.months.toSorted((a, b) => a - b)
      const first = months.map(on).find((one) => one !== null)
      return {
        rule: `FREQ=YEARLY${every};BYMONTH=${months.join(',')};BYMONTHDAY=${rule.monthDay}`,
        start: at(first ?? iso(from)),
      }
    }
  }
}

const and = (all: string[]) =>
  all.length > 1 ? `${all.slice(0, -1).join(', ')} and ${all[all.length - 1]}` : (all[0] ?? 'no day')

/** "Each Monday at 08:00". */
export function ruleWords(rule: Rule): string {
  const clock = `at ${clockOf(rule.at)}`
  const n = rule.interval
  const last = rule.monthDay === -1
  switch (rule.freq) {
    case 'DAILY':
      return n > 1 ? `Every ${n} days ${clock}` : `Each day ${clock}`
    case 'WEEKLY': {
      const days = and(dayNames(rule.days))
      return n > 1 ? `Every ${n} weeks on ${days} ${clock}` : `Each ${days} ${clock}`
    }
    case 'MONTHLY': {
      const day = last ? 'last day' : ordinal(rule.monthDay)
      return n > 1 ? `Every ${n} months on the ${day} ${clock}` : `On the ${day} of each month ${clock}`
    }
    case 'YEARLY': {
      const days = and(
        rule.months.map((one) => {
          const month = MONTHS[one - 1]
          if (last) return `the last of ${month}`
          return dateLocale() === 'en-US' ? `${month} ${rule.monthDay}` : `${rule.monthDay} ${month}`
        }),
      )
      return n > 1 ? `Every ${n} years on ${days} ${clock}` : `Each year on ${days} ${clock}`
    }
  }
}
