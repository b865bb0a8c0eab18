// What if: changes to what is on record, kept in the address so that they can be shared, and the question that they make.
import type {
  ReserveFamily,
  ReservesView,
  SizedFamily,
  SizingRequest,
  SizingView,
  Stock,
  StockReach,
} from '@/api/types'

/** One family's changes; what is missing stays as it is on record. */
export interface Change {
  /** Times the failure rate on record. */
  rate?: number
  /** Failures per piece-year that are expected where the record has none to multiply. */
  per?: number
  days?: number
  spares?: number
  price?: number
}
export type TargetOf = 'ready' | 'fill'
export interface WhatIf {
  /** 0 to 1. */
  target: number
  of: TargetOf
  budget: number
  changes: Record<string, Change>
}

export const TARGET = 0.95
const LETTERS: Record<string, keyof Change> = { x: 'rate', r: 'per', d: 'days', s: 'spares', p: 'price' }
const PREFIX = 'f.'
/** So many spares are worked out at least, to draw the curve. */
const UP_TO = 12
/** More spares than this the server does not work out for a curve. */
const MOST = 60

const within = (text: string | null, low: number, high: number): number | null => {
  const value = Number(text)
  return text && Number.isFinite(value) && value >= low && value <= high ? value : null
}

export function readWhatIf(query: URLSearchParams): WhatIf {
  const changes: Record<string, Change> = {}
  for (const [key, text] of query) {
    if (!key.startsWith(PREFIX)) continue
    const change: Change = {}
    for (const part of text.split('_')) {
      const name = LETTERS[part.charAt(0)]
      const value = within(part.slice(1), name === 'price' ? 0.01 : 0, 1e9)
      if (name && value !== null) change[name] = value
    }
    if (Object.keys(change).length) changes[key.slice(PREFIX.length)] = change
  }
  return {
    target: within(query.get('target'), 0.01, 0.9999) ?? TARGET,
    of: query.get('of') === 'fill' ? 'fill' : 'ready',
    budget: within(query.get('budget'), 0, 1e9) ?? 0,
    changes,
  }
}

/** The keys of the address that change: empty ones leave it. `before` is the query as it stands. */
export function writeWhatIf(whatIf: WhatIf, before: URLSearchParams): Record<string, string | null> {
  const out: Record<string, string | null> = {}
  for (const key of before.keys()) if (key.startsWith(PREFIX)) out[key] = null
  for (const [id, change] of Object.entries(whatIf.changes)) {
    const parts = Object.entries(LETTERS).flatMap(([letter, name]) =>
      change[name] === undefined ? [] : [`${letter}${change[name]}`],
    )
    out[PREFIX + id] = parts.join('_') || null
  }
  out['target'] = whatIf.target === TARGET ? null : String(whatIf.target)
  out['of'] = whatIf.of === 'ready' ? null : whatIf.of
  out['budget'] = whatIf.budget ? String(whatIf.budget) : null
  return out
}

/** With one input of one family set, or given back to the record. */
export function changed(whatIf: WhatIf, id: string, name: keyof Change, value: number | null): WhatIf {
  const change: Change = { ...whatIf.changes[id] }
  if (value === null) delete change[name]
  else change[name] = value
  const changes = { ...whatIf.changes, [id]: change }
  if (!Object.keys(change).length) delete changes[id]
  return { ...whatIf, changes }
}

/** How many inputs of these families differ from the record. What somebody says of a price is none: it changes nothing that happens. */
export function countChanges(whatIf: WhatIf, families: { id: string }[]): number {
  return families
    .flatMap(({ id }) => whatIf.changes[id] ?? [])
    .reduce((n, c) => n + Object.keys(c).filter((name) => name !== 'price').length, 0)
}

/** A family with its changes laid over it. */
export interface Laid {
  family: ReserveFamily
  change: Change
  spares: number
  /** What one more costs: as somebody says, else as it is on record. */
  price: number | null
  per_piece_year: number | null
  days_away: number | null
  /** Failures a year of the fleet. */
  a_year: number | null
  a_year_lower: number | null
  a_year_upper: number | null
  /** At most so often and so long, as far as is known; what somebody expects is taken as it is. */
  per_piece_year_upper: number | null
  days_away_upper: number | null
}
export function lay(family: ReserveFamily, change: Change = {}): Laid {
  const expected = change.per ?? null
  const times = expected === null ? (change.rate ?? 1) : 0
  const by = (value: number | null, factor = times) => (value === null ? null : value * factor)
  const { fleet } = family
  return {
    family,
    change,
    spares: change.spares ?? family.spares,
    price: change.price ?? family.price?.amount ?? null,
    per_piece_year: expected ?? by(family.per_piece_year),
    days_away: change.days ?? family.days_away,
    a_year: expected === null ? by(family.per_piece_year, times * fleet) : expected * fleet,
    a_year_lower: expected === null ? by(family.per_piece_year_lower, times * fleet) : null,
    a_year_upper: expected === null ? by(family.per_piece_year_upper, times * fleet) : null,
    per_piece_year_upper: expected ?? by(family.per_piece_year_upper),
    days_away_upper: change.days ?? family.days_away_upper,
  }
}

/** The question for the server; families without a fleet are left out, and those whose rate or days away nobody knows. */
export function askFor(view: ReservesView, whatIf: WhatIf): SizingRequest {
  const families = view.families.flatMap((family) => {
    const laid = lay(family, whatIf.changes[family.id])
    const { spares, per_piece_year, days_away } = laid
    if (!family.fleet || per_piece_year === null || days_away === null) return []
    const { id, name, fleet } = family
    // Without a price it must not be bought: with no weight it takes nothing away, and counts nowhere in the curve.
    const [price, weight] = laid.price ? [laid.price, 1] : [1, 0]
    // A bound that is beyond all sense bounds nothing.
    const bound = (value: number | null, most: number) => (value !== null && value <= most ? value : null)
    const per_piece_year_upper = bound(laid.per_piece_year_upper, 1000)
    const days_away_upper = bound(laid.days_away_upper, 3650)
    const figures = { per_piece_year, per_piece_year_upper, days_away, days_away_upper }
    return [{ id, name, fleet, spares, ...figures, price, weight }]
  })
  const most = Math.max(0, ...families.map((f) => f.spares))
  return {
    budget: whatIf.budget,
    target: whatIf.target,
    up_to: Math.min(MOST, Math.max(UP_TO, most + 3)),
    families,
  }
}

/** One line of the table. */
export interface Line extends Laid {
  sized: SizedFamily | null
  mean_away: number | null
  stock: Stock | null
  needed: number | null
  /** Spares that the target asks for beyond those that are there, by the means; `null`: not known. */
  lacking: number | null
  /** Whether what is there reaches the target, as the server says. */
  reach: StockReach | null
}
export function lines(view: ReservesView, whatIf: WhatIf, sizing: SizingView | null): Line[] {
  const sizes = new Map(sizing?.families.map((f) => [f.id, f]))
  return view.families.map((family) => {
    const laid = lay(family, whatIf.changes[family.id])
    const known = laid.per_piece_year !== null && laid.days_away !== null
    const sized = (known && sizes.get(family.id)) || null
    const untouched = !Object.keys(laid.change).some((name) => name !== 'price')
    // Without a fleet no slot can wait.
    const needed = !family.fleet
      ? 0
      : sized
        ? whatIf.of === 'fill'
          ? sized.needed_fill
          : sized.needed_ready
        : null
    return {
      ...laid,
      sized,
      mean_away: sized?.mean_away ?? (untouched ? family.mean_away : null),
      stock: sized?.stocks[laid.spares] ?? (untouched ? family.now : null),
      needed,
      lacking: needed === null ? null : Math.max(0, needed - laid.spares),
      reach: sized && (whatIf.of === 'fill' ? sized.reach_fill : sized.reach_ready),
    }
  })
}

/** Where a slot waits now first, then what has too few, then what nobody knows; families without a fleet last. */
export function shortFirst(list: Line[]): Line[] {
  const rank = ({ family, lacking, reach }: Line) => {
    if (!family.fleet) return 9
    if (family.waits.now) return 0
    if (lacking === null) return 2
    if (lacking) return 1
    return reach === 'enough' ? 4 : 3
  }
  return list.toSorted(
    (a, b) =>
      rank(a) - rank(b) || b.family.waits.now - a.family.waits.now || (b.lacking ?? 0) - (a.lacking ?? 0),
  )
}

/** The family to look at first: where most slots wait. */
export function mostShort(list: Line[]): Line | undefined {
  return list.toSorted(
    (a, b) => (b.lacking ?? -1) - (a.lacking ?? -1) || (b.stock?.shortage ?? -1) - (a.stock?.shortage ?? -1),
  )[0]
}
