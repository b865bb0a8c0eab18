// The rows of the reliability table: words for the trend, order, and the file for spreadsheets.
import type { Direction, ReliabilityRow, ReliabilityView } from '@/api/types'
import { inPercent } from '@/words/csv'
import { byName } from '@/words/order'

const TRENDS: Record<Direction, { sign: string; word: string; sentence: string }> = {
  too_few: { sign: '…', word: 'Too few data', sentence: 'Too few failures to tell a trend from chance.' },
  no_trend: {
    sign: '◇',
    word: 'No clear trend',
    sentence: 'What is there could be chance. That does not say that nothing changes.',
  },
  worsening: { sign: '▲', word: 'Worse', sentence: 'Failures come more often as time goes on.' },
  improving: { sign: '▼', word: 'Better', sentence: 'Failures come less often as time goes on.' },
}
export const trendOf = (row: ReliabilityRow) => TRENDS[row.trend.verdict] ?? TRENDS.too_few
/** The power law, where there are enough failures to show one: three failures can fit any shape. */
export const fitted = (row: Pick<ReliabilityRow, 'trend' | 'power_law'>) =>
  row.trend.verdict === 'too_few' || row.power_law.beta === null ? null : row.power_law
const TREND_ORDER: Direction[] = ['worsening', 'no_trend', 'improving', 'too_few']

type Cell = number | string | null
export const COLUMNS = [
  ['name', 'Name', (r) => r.name],
  ['pieces', 'Pieces', (r) => r.pieces],
  ['failures', 'Failures', (r) => r.rates.failures],
  ['years', 'Piece-years', (r) => r.rates.piece_years],
  ['rate', 'Failures per piece-year', (r) => r.rates.per_piece_year],
  ['mtbf', 'Days between failures', (r) => r.rates.mtbf_days],
  ['away', 'Days away for repair', (r) => r.repairs.mean_days],
  ['available', 'Availability', (r) => r.repairs.availability],
  ['trend', 'Trend', (r) => TREND_ORDER.indexOf(r.trend.verdict)],
] as const satisfies [string, string, (row: ReliabilityRow) => Cell][]
export type SortKey = (typeof COLUMNS)[number][0]
export const isSortKey = (text: string): text is SortKey => COLUMNS.some(([key]) => key === text)

/** Sorted by a column; what is not known comes last either way. */
export function sorted(rows: ReliabilityRow[], by: SortKey, down: boolean): ReliabilityRow[] {
  const read: (row: ReliabilityRow) => Cell = (COLUMNS.find(([key]) => key === by) ?? COLUMNS[0])[2]
  return rows.toSorted((a, b) => {
    const [x, y] = [read(a), read(b)]
    if (x === null || y === null) return x === y ? byName(a, b) : x === null ? 1 : -1
    const order = typeof x === 'number' && typeof y === 'number' ? x - y : byName(a, b)
    return (down ? -order : order) || byName(a, b)
  })
}

/** The rows of a spreadsheet: figures unrounded but for shares, bounds in columns of their own. */
export function reliabilityRows(view: ReliabilityView, rows: ReliabilityRow[]) {
  const head = [
    'Name',
    'Pieces',
    'Failures',
    'Planned services (no failures)',
    'Piece-years',
    'Failures per piece-year',
    'At least',
    'At most',
    'Days between failures',
    'At least',
    'At most',
    'Repairs ended',
    'Repairs open',
    'Days away for repair, mean',
    'At least',
    'At most',
    'Days away, middle',
    'Availability, %',
    'At least, %',
    'At most, %',
    'Confidence, %',
    'Trend',
    'Power law shape',
    'At least',
    'At most',
    'From',
    'Until',
  ]
  const body = rows.map(({ name, pieces, rates, repairs, ...row }) => [
    name,
    pieces,
    rates.failures,
    rates.planned,
    rates.piece_years,
    rates.per_piece_year,
    rates.per_piece_year_lower,
    rates.per_piece_year_upper,
    rates.mtbf_days,
    rates.mtbf_days_lower,
    rates.mtbf_days_upper,
    repairs.ended,
    repairs.open,
    repairs.mean_days,
    repairs.mean_days_lower,
    repairs.mean_days_upper,
    repairs.median_days,
    inPercent(repairs.availability),
    inPercent(repairs.availability_lower),
    inPercent(repairs.availability_upper),
    inPercent(view.confidence),
    TRENDS[row.trend.verdict].word,
    fitted(row)?.beta ?? null,
    fitted(row)?.beta_lower ?? null,
    fitted(row)?.beta_upper ?? null,
    view.from.slice(0, 10),
    view.until.slice(0, 10),
  ])
  return [head, ...body]
}
