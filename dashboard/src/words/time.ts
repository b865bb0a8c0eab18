// Times are shown in the agency's time zone, 24 h, whatever the browser thinks.
import { dateLocale, zoneName } from './locale'

export { useZone, zoneName } from './locale'

const made = new Map<string, Intl.DateTimeFormat>()

function format(options: Intl.DateTimeFormatOptions, locale = dateLocale()): Intl.DateTimeFormat {
  options = { timeZone: zoneName(), ...options }
  const key = locale + JSON.stringify(options)
  let known = made.get(key)
  if (!known) made.set(key, (known = new Intl.DateTimeFormat(locale, options)))
  return known
}

const DAY = { day: 'numeric', month: 'short' } as const

const parse = (text: string | null | undefined) => {
  if (!text) return null
  const date = new Date(text)
  return Number.isNaN(date.getTime()) ? null : date
}
/** The calendar day of an instant in the agency's zone, "2026-11-25", which is how Canada writes it in figures. */
export const dateIn = (at: Date) =>
  format({ year: 'numeric', month: '2-digit', day: '2-digit' }, 'en-CA').format(at)
const yearIn = (at: Date) => dateIn(at).slice(0, 4)

export function clock(text: string | number | Date): string {
  return format({ hour: '2-digit', minute: '2-digit', hourCycle: 'h23' }).format(new Date(text))
}

/** "14:20" today, "Tue 24 Nov 14:20" this year, with the year otherwise. */
export function moment(text: string | null | undefined, now = new Date()): string {
  const date = parse(text)
  if (!date) return 'unknown'
  if (dateIn(date) === dateIn(now)) return clock(date)
  const sameYear = yearIn(date) === yearIn(now)
  const head = format(sameYear ? { weekday: 'short', ...DAY } : { ...DAY, year: 'numeric' }).format(date)
  return `${sameYear ? head.replace(',', '') : head} ${clock(date)}`
}

/** "29 Nov 2026 14:20", whenever it is read: for paper. */
export const stampWords = (at: string | Date) => moment(new Date(at).toISOString(), new Date(0))

/** Since when, as short as it stays useful: the hour counts for two days, then the day does. */
export function sinceWords(text: string | null | undefined, now = new Date()): string {
  const date = parse(text)
  if (!date) return 'since unknown'
  const old = now.getTime() - date.getTime() > 2 * 86_400_000
  return `since ${old ? moment(text, now).replace(/ \d\d:\d\d$/, '') : moment(text, now)}`
}

/** Whether something lies within so many days from now: further off it is no news for a board. */
export function soon(text: string | null | undefined, days: number, now = new Date()): boolean {
  const date = parse(text)
  return date !== null && date.getTime() - now.getTime() < days * 86_400_000
}

/** A calendar date has no zone: "2026-11-25" is that day everywhere. */
export function dateWords(text: string | null | undefined): string {
  if (!text || !/^\d{4}-\d{2}-\d{2}/.test(text)) return 'unknown'
  return format({ timeZone: 'UTC', ...DAY, year: 'numeric' }).format(
    new Date(`${text.slice(0, 10)}T00:00:00Z`),
  )
}

/** The same where room is short: the year is said of another year only. */
export function dayWords(text: string | null | undefined, now = new Date()): string {
  return text?.slice(0, 4) === yearIn(now) ? withoutYear(dateWords(text)) : dateWords(text)
}
const withoutYear = (words: string) => words.replace(/,? \d{4}$/, '')

/**
 * The server writes instants into its words as the agency's clock shows them, "2026-11-25 14:20". On a screen they read like
 * the rest of the page: the time alone today, the day alone at midnight.
 */
export function spoken(words: string, now = new Date()): string {
  const today = dateIn(now)
  // Two sentences that were joined by a sign of their own.
  const joined = words.replace(/\.; (\w)/g, (_, first: string) => `. ${first.toUpperCase()}`)
  return joined.replace(
    /\b(\d{4}-\d\d-\d\d)(?: (\d\d:\d\d)Z?)?\b/g,
    (whole: string, date: string, time: string | undefined) => {
      const at = new Date(`${date}T00:00:00Z`)
      if (Number.isNaN(at.getTime()) || at.toISOString().slice(0, 10) !== date) return whole
      if (date === today && time) return time
      const near = date.slice(0, 4) === today.slice(0, 4) && time && time !== '00:00'
      const day = near ? withoutYear(dateWords(date)) : dateWords(date)
      return time && time !== '00:00' ? `${day} ${time}` : day
    },
  )
}

/** "just now", "20 min ago". */
export function agoWords(text: string | null | undefined, now = new Date()): string {
  const words = ago(text, now)
  return /\d/.test(words) ? `${words} ago` : words
}

/** How long ago, in the unit a person would use: minutes, hours, days. */
export function ago(text: string | null | undefined, now = new Date()): string {
  const date = parse(text)
  if (!date) return 'unknown'
  const minutes = Math.max(0, Math.round((now.getTime() - date.getTime()) / 60_000))
  if (minutes < 1) return 'just now'
  if (minutes < 60) return `${minutes} min`
  const hours = Math.round(minutes / 60)
  if (hours < 36) return `${hours} h`
  const days = Math.round(minutes / 1440)
  return `${days} ${days === 1 ? 'day' : 'days'}`
}
