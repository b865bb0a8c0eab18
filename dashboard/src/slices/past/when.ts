// Instants of the agency's wall clock: what a date and a time mean in its zone, over the nights on which the clocks change.
import { dateWords, zoneName } from '@/words/time'

const MINUTE = 60_000
const DAY = 86_400_000
const HAS_OFFSET = /(?:Z|[+-]\d\d:\d\d)$/i
const WALL = /^(\d{4})-(\d\d)-(\d\d)(?:T(\d\d):(\d\d)(?::\d\d(?:\.\d+)?)?)?$/

/** What an address or two fields say, read in the agency's zone. */
export type Read =
  | { is: 'instant'; at: Date }
  /** The clocks were put back: this wall time came twice. */
  | { is: 'twice'; at: Date; second: Date }
  /** The clocks were put forward over it: it never was. */
  | { is: 'skipped'; before: Date; after: Date }
  | { is: 'future'; at: Date }
  | { is: 'unreadable' }

interface Wall {
  date: string
  time: string
  seconds: string
}

/** Date and time of an instant as the agency's clock shows it. */
export function wallOf(at: Date, zone = zoneName()): Wall {
  const parts = new Intl.DateTimeFormat('en-GB', {
    timeZone: zone,
    year: 'numeric',
    month: '2-digit',
    day: '2-digit',
    hour: '2-digit',
    minute: '2-digit',
    second: '2-digit',
    hourCycle: 'h23',
  }).formatToParts(at)
  const of = (type: string) => parts.find((p) => p.type === type)?.value ?? ''
  return {
    date: `${of('year').padStart(4, '0')}-${of('month')}-${of('day')}`,
    time: `${of('hour')}:${of('minute')}`,
    seconds: of('second'),
  }
}

/** How far the zone's clock is ahead of UTC then, in milliseconds. */
function offset(at: Date, zone: string): number {
  const wall = wallOf(at, zone)
  return Date.parse(`${wall.date}T${wall.time}:${wall.seconds}Z`) - Math.floor(at.getTime() / 1000) * 1000
}

/** The instants that a wall time names: none, one or two, in order. */
export function instantsOf(date: string, time: string, zone = zoneName()): Date[] {
  const asUtc = Date.parse(`${date}T${time}:00Z`)
  if (Number.isNaN(asUtc)) return []
  const offsets = new Set([asUtc - DAY, asUtc, asUtc + DAY].map((t) => offset(new Date(t), zone)))
  return [...offsets]
    .map((ahead) => new Date(asUtc - ahead))
    .filter((at) => {
      const wall = wallOf(at, zone)
      return wall.date === date && wall.time === time
    })
    .sort((a, b) => a.getTime() - b.getTime())
}

/** The first instant at or after a wall time, also where the clocks were put over it. */
export function atOrAfter(date: string, time: string, zone = zoneName()): Date {
  const [first] = instantsOf(date, time, zone)
  if (first) return first
  const gap = gapAt(date, time, zone)
  return gap?.after ?? new Date(NaN)
}

/** The last minute before the clocks were put forward over a wall time, and the first after. */
function gapAt(date: string, time: string, zone: string): { before: Date; after: Date } | null {
  const asUtc = Date.parse(`${date}T${time}:00Z`)
  if (Number.isNaN(asUtc)) return null
  let low = asUtc - DAY
  let high = asUtc + DAY
  const old = offset(new Date(low), zone)
  if (old === offset(new Date(high), zone)) return null
  while (high - low > MINUTE) {
    const mid = Math.floor((low + high) / 2 / MINUTE) * MINUTE
    if (offset(new Date(mid), zone) === old) low = mid
    else high = mid
  }
  return { before: new Date(low), after: new Date(high) }
}

/** Reads `at` of the address: an instant with its offset, or a wall time of the agency without one. */
export function readAt(text: string, now: Date, zone = zoneName()): Read {
  // A plus sign that somebody typed into an address arrives as a space.
  const tidy = text.trim().replace(/ (?=\d\d:\d\d$)/, '+')
  if (HAS_OFFSET.test(tidy)) {
    const at = new Date(tidy)
    if (Number.isNaN(at.getTime())) return { is: 'unreadable' }
    return at > now ? { is: 'future', at } : { is: 'instant', at }
  }
  const parts = WALL.exec(tidy)
  const [, year = '', month = '', day = '', hour = '00', minute = '00'] = parts ?? []
  const date = `${year}-${month}-${day}`
  const time = `${hour}:${minute}`
  const asUtc = new Date(`${date}T${time}:00Z`)
  // 31 June and 25:00 are refused and not carried over into the next month or day.
  if (!parts || Number.isNaN(asUtc.getTime()) || asUtc.toISOString().slice(0, 10) !== date)
    return { is: 'unreadable' }
  const [first, second] = instantsOf(date, time, zone)
  if (!first) {
    const gap = gapAt(date, time, zone)
    return gap ? { is: 'skipped', ...gap } : { is: 'unreadable' }
  }
  if (first > now) return { is: 'future', at: first }
  return second ? { is: 'twice', at: first, second } : { is: 'instant', at: first }
}

/** An instant for the address, in the agency's own time and with its offset, so that it reads and is never in doubt. */
export function addressOf(at: Date, zone = zoneName()): string {
  const wall = wallOf(at, zone)
  const ahead = Math.round(offset(at, zone) / MINUTE)
  const size = Math.abs(ahead)
  const two = (n: number) => String(n).padStart(2, '0')
  const rest = wall.seconds === '00' && at.getMilliseconds() === 0 ? '' : `:${wall.seconds}`
  // Whole seconds only: part of a second would be lost on the clock anyway, and is asked for by revision.
  return `${wall.date}T${wall.time}${rest || ':00'}${ahead < 0 ? '-' : '+'}${two(Math.floor(size / 60))}:${two(size % 60)}`
}

export type Back = 'hour' | 'day' | 'week' | 'month'
export const BACK: { key: Back; words: string }[] = [
  { key: 'hour', words: 'An hour ago' },
  { key: 'day', words: 'A day ago' },
  { key: 'week', words: 'A week ago' },
  { key: 'month', words: 'A month ago' },
]

/** Days and months are counted on the calendar: the same time of the day, whatever the clocks did between. */
export function back(by: Back, now: Date, zone = zoneName()): Date {
  if (by === 'hour') return new Date(Math.floor((now.getTime() - 3_600_000) / MINUTE) * MINUTE)
  const { date, time } = wallOf(now, zone)
  const day = new Date(`${date}T00:00:00Z`)
  if (by === 'month') {
    const wanted = day.getUTCDate()
    day.setUTCDate(1)
    day.setUTCMonth(day.getUTCMonth() - 1)
    const last = new Date(Date.UTC(day.getUTCFullYear(), day.getUTCMonth() + 1, 0)).getUTCDate()
    day.setUTCDate(Math.min(wanted, last))
  } else day.setUTCDate(day.getUTCDate() - (by === 'day' ? 1 : 7))
  return atOrAfter(day.toISOString().slice(0, 10), time, zone)
}

/** "Tue 24 Nov 2026 05:00", "Tue Nov 24, 2026 05:00": the past is never told without its day. */
export function stamp(when: string | Date | null | undefined): string {
  const at = when ? new Date(when) : null
  if (!at || Number.isNaN(at.getTime())) return 'unknown'
  const weekday = new Intl.DateTimeFormat('en', { timeZone: zoneName(), weekday: 'short' }).format(at)
  const { date, time } = wallOf(at)
  return `${weekday} ${dateWords(date)} ${time}`
}
/** "MST": what the clock was called then. */
export function zoneAt(when: string | Date): string {
  const at = new Date(when)
  const parts = new Intl.DateTimeFormat('en-US', {
    timeZone: zoneName(),
    timeZoneName: 'short',
  }).formatToParts(at)
  return parts.find((p) => p.type === 'timeZoneName')?.value ?? zoneName()
}
export const stampZone = (when: string | Date) => `${stamp(when)} ${zoneAt(when)}`

/** How long, in the unit a person would use: minutes, hours, days. */
export function lasting(ms: number): string {
  const minutes = Math.round(Math.max(0, ms) / MINUTE)
  if (minutes < 60) return `${minutes} min`
  if (minutes < 48 * 60) {
    const hours = Math.floor(minutes / 60)
    return minutes % 60 ? `${hours} h ${minutes % 60} min` : `${hours} h`
  }
  const days = Math.round(minutes / 144) / 10
  return `${Number.isInteger(days) || days >= 10 ? Math.round(days) : days} days`
}

/** The server's words hold days as 2026-11-25; a sheet shows them as the rest of the page does. */
export function plainDays(words: string): string {
  return words.replace(/\b\d{4}-\d\d-\d\d\b/g, (day) =>
    Number.isNaN(Date.parse(`${day}T00:00:00Z`)) ? day : dateWords(day),
  )
}

/** What an act was, in words. The clock's own act says what it means for the rig. */
export function actWords(kind: string | null | undefined, words: string | null | undefined): string {
  if (kind === 'clock.settle') return 'A check or a service life ran out, without anybody doing anything'
  return words ? plainDays(words) : 'not told'
}

/** "9 years", "7 months" from a date of make to an instant; null when there is no date. */
export function ageAt(made: string | null | undefined, at: Date): string | null {
  if (!made) return null
  const [y = 0, m = 1, d = 1] = made.slice(0, 10).split('-').map(Number)
  const [ny = 0, nm = 1, nd = 1] = wallOf(at).date.split('-').map(Number)
  const months = (ny - y) * 12 + (nm - m) - (nd < d ? 1 : 0)
  if (months < 0) return null
  if (months < 24) return `${months} ${months === 1 ? 'month' : 'months'}`
  return `${Math.floor(months / 12)} years`
}
