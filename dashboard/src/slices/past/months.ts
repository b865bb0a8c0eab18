// Shares of time by month: of the whole time, so that what is not known is seen and not left out.
import type { Level, Shares, StandingItem } from '@/api/types'
import { dateLocale } from '@/words/locale'
import { atOrAfter, wallOf } from './when'

export type Part = 'full' | 'limited' | 'none' | 'planned' | 'unknown'
export const PARTS: { key: Part; word: string }[] = [
  { key: 'full', word: 'Full' },
  { key: 'limited', word: 'Limited' },
  { key: 'none', word: 'None' },
  { key: 'planned', word: 'Planned service' },
  { key: 'unknown', word: 'Not known' },
]
/** The shares of the time that is known: they make 100 % together, and what is not known is none of them. */
export const KNOWN_PARTS = PARTS.filter(
  (part): part is { key: Exclude<Part, 'unknown'>; word: string } => part.key !== 'unknown',
)
export const partWord = (part: Part) => PARTS.find((p) => p.key === part)?.word ?? part
/** Above a column, where what is not known stands beside shares of what is: it is a share of something else. */
export const partHead = (part: Part) => (part === 'unknown' ? 'Not known, of all the time' : partWord(part))
export const isPart = (text: string): text is Part => PARTS.some((p) => p.key === text)

/** The parts of the whole time, to draw; null when the period has no time in it yet. */
export function partsOf(shares: Shares | undefined): Record<Part, number> | null {
  if (!shares || shares.seconds <= 0) return null
  const known = Math.min(1, shares.known_seconds / shares.seconds)
  const of = (share: number | null | undefined) => (share ?? 0) * known
  return {
    full: of(shares.full),
    limited: of(shares.limited),
    none: of(shares.none),
    planned: of(shares.planned),
    unknown: 1 - known,
  }
}

/** The first of these months of which something is known; none: how many there are. */
export function firstKnown(months: readonly (Shares | undefined)[]): number {
  const first = months.findIndex((shares) => (shares?.known_seconds ?? 0) > 0)
  return first < 0 ? months.length : first
}

/** "Jun to Nov 2026": the first and the last of these months of which something is known; empty where nothing is. */
export function knownWords(months: readonly string[], shares: readonly (Shares | undefined)[]): string {
  const known = months.filter((_, i) => (shares[i]?.known_seconds ?? 0) > 0)
  const [first, last] = [known[0], known.at(-1)]
  if (!first || !last) return ''
  if (first === last) return monthName(last)
  return `${first.slice(0, 4) === last.slice(0, 4) ? monthShort(first) : monthName(first)} to ${monthName(last)}`
}

/** The same as numbers: shares of what is known, and of the whole time what is not. Null: nothing is known. */
export type Figures = Record<Exclude<Part, 'unknown'>, number | null> & { unknown: number }
export function figuresOf(shares: Shares | undefined): Figures | null {
  const parts = partsOf(shares)
  if (!parts || !shares) return null
  const { full = null, limited = null, none = null, planned = null } = shares
  return { full, limited, none, planned, unknown: parts.unknown }
}

/** "97.4 %". Only nothing is 0 %, and only all of it is 100 %: a minute missing shows. */
export function percent(share: number | null | undefined): string {
  if (share === null || share === undefined) return 'not known'
  if (share <= 0) return '0 %'
  if (share >= 1) return '100 %'
  if (share < 0.001) return 'under 0.1 %'
  if (share > 0.999) return 'over 99.9 %'
  return `${(share * 100).toFixed(1)} %`
}

const nameOf = (month: string, options: Intl.DateTimeFormatOptions) =>
  new Intl.DateTimeFormat(dateLocale(), { timeZone: 'UTC', ...options }).format(
    new Date(`${month}-01T00:00:00Z`),
  )
/** "Nov 2026". */
export const monthName = (month: string) => nameOf(month, { month: 'short', year: 'numeric' })
/** "Nov". */
export const monthShort = (month: string) => nameOf(month, { month: 'short' }).slice(0, 3)
export const isMonth = (text: string) => /^\d{4}-(0[1-9]|1[0-2])$/.test(text)

export function addMonths(month: string, n: number): string {
  const [y = 0, m = 1] = month.split('-').map(Number)
  return new Date(Date.UTC(y, m - 1 + n, 1)).toISOString().slice(0, 7)
}
export const monthOf = (at: Date) => wallOf(at).date.slice(0, 7)

/** Where a month begins and ends in the agency's zone. */
export function edgesOf(month: string): { from: Date; until: Date } {
  return { from: atOrAfter(`${month}-01`, '00:00'), until: atOrAfter(`${addMonths(month, 1)}-01`, '00:00') }
}

export type Stretch = Omit<StandingItem, 'level' | 'revision'> & {
  level: Level | null
  revision: number | null
  /** Milliseconds of it inside the period, up to now. */
  ms: number
}

/** The stretches of a period, newest first, with the stretches between them of which nothing is known. */
export function stretches(items: StandingItem[], from: Date, until: Date, now: Date): Stretch[] {
  const end = Math.min(until.getTime(), now.getTime())
  const list: Stretch[] = []
  const gap = (a: number, b: number) => {
    if (b - a < 1000) return
    const [start, stop] = [new Date(a).toISOString(), new Date(b).toISOString()]
    list.push({
      from: start,
      until: stop,
      level: null,
      planned: false,
      revision: null,
      kind: null,
      by: null,
      words: null,
      ms: b - a,
    })
  }
  let known = from.getTime()
  for (const item of items.toSorted((a, b) => Date.parse(a.from) - Date.parse(b.from))) {
    const a = Math.max(Date.parse(item.from), from.getTime())
    const b = Math.min(item.until ? Date.parse(item.until) : end, end)
    if (b <= a) continue
    gap(known, a)
    list.push({ ...item, ms: b - a })
    known = Math.max(known, b)
  }
  gap(known, end)
  return list.reverse()
}

export function partOf(stretch: Stretch): Part {
  if (stretch.level === null || stretch.level === 'not_judged') return 'unknown'
  if (stretch.planned) return 'planned'
  return stretch.level === 'heavy' ? 'full' : stretch.level
}
