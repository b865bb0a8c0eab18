// What a council asks: periods of the calendar, and the longest times that a rig could do less than its class should.
import type { AvailabilityRow, Id, Level, Shares } from '@/api/types'
import { inPercent } from '@/words/csv'
import { isFull, levelOrder } from '@/words/level'
import { addMonths, figuresOf, PARTS, type Stretch } from './months'

export type Length = 'month' | 'quarter' | 'year'
const MONTHS: Record<Length, number> = { month: 1, quarter: 3, year: 12 }
export const LENGTHS = Object.keys(MONTHS) as Length[]
export const isLength = (text: string): text is Length => text in MONTHS

export interface Period {
  /** Months, `2026-10` to `2026-12`. */
  from: string
  until: string
}
/** The month, quarter or year of the calendar that holds this month. */
export function periodOf(length: Length, month: string): Period {
  const into = (Number(month.slice(5)) - 1) % MONTHS[length]
  const from = addMonths(month, -into)
  return { from, until: addMonths(from, MONTHS[length] - 1) }
}
/** Another of the same length: one back, one on. */
export const periodBeside = (length: Length, { from }: Period, by: number): Period =>
  periodOf(length, addMonths(from, by * MONTHS[length]))
/** "4th quarter of 2026", "2026", "Nov 2026". */
export function periodWords(length: Length, { from }: Period, month: (month: string) => string): string {
  const year = from.slice(0, 4)
  if (length === 'year') return year
  if (length === 'month') return month(from)
  const quarter = (Number(from.slice(5)) + 2) / 3
  return `${['1st', '2nd', '3rd', '4th'][quarter - 1] ?? ''} quarter of ${year}`
}

/** Below what its class should reach now; above full nobody is missed here. */
const isBelow = (level: Level, expects: Level) =>
  levelOrder(level) < levelOrder(isFull(expects) ? 'full' : expects)

export interface Below {
  from: string
  /** Null: it still lasts. */
  until: string | null
  ms: number
  worst: Level
  /** All of it was planned service. */
  planned: boolean
  /** What began it. */
  began: Stretch
}
/** The times below what is expected, each whole however often the level moved meanwhile. Newest first in, oldest first out. */
export function belowOf(list: readonly Stretch[], expects: Level): Below[] {
  const all: Below[] = []
  let open: Below | null = null
  for (const one of list.toReversed()) {
    const { level } = one
    if (level === null || level === 'not_judged' || !isBelow(level, expects)) {
      open = null
      continue
    }
    if (open) {
      open.until = one.until ?? null
      open.ms += one.ms
      if (levelOrder(level) < levelOrder(open.worst)) open.worst = level
      open.planned &&= one.planned
    } else {
      open = {
        from: one.from,
        until: one.until ?? null,
        ms: one.ms,
        worst: level,
        planned: one.planned,
        began: one,
      }
      all.push(open)
    }
  }
  return all
}

/** No time below what is expected can be longer than this, of a rig with these shares of time. */
export function mostBelow(shares: Shares, expects: Level): number {
  const { limited, none, planned, known_seconds } = shares
  const share = (none ?? 0) + (planned ?? 0) + (isFull(expects) ? (limited ?? 0) : 0)
  return share * known_seconds * 1000
}

export interface RigBelow extends Below {
  rig: Id
  name: string
}
export interface Asking {
  id: Id
  name: string
  expects: Level
  /** Milliseconds: no time of it is longer. */
  most: number
}
export const SHOWN = 10
export const MOST_ASKED = 40
/** So much may the shares be rounded. */
const ROUNDING_MS = 60_000

/**
 * The longest times of all rigs. Rigs are asked in the order of how long theirs can be, until no other can have a longer one;
 * `all` is false where that could not be shown within the rigs that may be asked.
 */
export async function longest(
  rigs: readonly Asking[],
  stretches: (rig: Id) => Promise<Stretch[] | null>,
): Promise<{ list: RigBelow[]; all: boolean } | null> {
  const found: RigBelow[] = []
  const inOrder = rigs.filter((rig) => rig.most > 0).toSorted((a, b) => b.most - a.most)
  for (const [asked, rig] of inOrder.entries()) {
    const last = found[SHOWN - 1]
    if (last && last.ms > rig.most + ROUNDING_MS) return { list: found.slice(0, SHOWN), all: true }
    if (asked >= MOST_ASKED) return { list: found.slice(0, SHOWN), all: false }
    const list = await stretches(rig.id)
    if (!list) return null
    found.push(...belowOf(list, rig.expects).map((one) => ({ ...one, rig: rig.id, name: rig.name })))
    found.sort((a, b) => b.ms - a.ms)
  }
  return { list: found.slice(0, SHOWN), all: true }
}

/** Shares of time as rows of a spreadsheet: of what is known, and of all of it what is not. */
export function shareRows(kind: string, period: string, rows: readonly AvailabilityRow[]) {
  const head = [
    kind,
    'Period',
    ...PARTS.map(({ key, word }) => `${word}, % of ${key === 'unknown' ? 'all time' : 'known time'}`),
    'Known, hours of rigs',
  ]
  const body = rows.map(({ name, total }) => {
    const figures = figuresOf(total)
    return [
      name,
      period,
      ...PARTS.map(({ key }) => inPercent(figures?.[key])),
      Math.round(total.known_seconds / 360) / 10,
    ]
  })
  return [head, ...body]
}

/** Months of each row, one line for each month. */
export function monthRows(
  kind: string,
  months: readonly string[],
  rows: readonly AvailabilityRow[],
): (string | number | null)[][] {
  const lines = months.flatMap((month, i) =>
    shareRows(
      kind,
      month,
      rows.flatMap((row) => (row.months[i] ? [{ ...row, total: row.months[i] }] : [])),
    ).slice(1),
  )
  return [...shareRows(kind, '', []), ...lines]
}
