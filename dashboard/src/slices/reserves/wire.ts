// What the addresses of reliability and reserves send, until the generated types know them.
import type { Place } from '@/api/types'

/** How often pieces fail. Bounds belong together, at `confidence`. */
export interface Rates {
  failures: number
  planned: number
  piece_years: number
  per_piece_year: number | null
  per_piece_year_lower: number | null
  per_piece_year_upper: number | null
  mtbf_days: number | null
  mtbf_days_lower: number | null
  mtbf_days_upper: number | null
  confidence: number
  words: string
}
/** How long repairs take, and the share of the time that pieces could be used. */
export interface Repairs {
  ended: number
  open: number
  mean_days: number | null
  median_days: number | null
  lognormal_mean_days: number | null
  mean_days_lower: number | null
  mean_days_upper: number | null
  mtbf_days: number | null
  availability: number | null
  availability_lower: number | null
  availability_upper: number | null
  confidence: number
  words: string
}
export type Direction = 'improving' | 'worsening' | 'no_trend' | 'too_few'
export interface Trend {
  failures: number
  laplace: number | null
  laplace_p: number | null
  military_handbook: number | null
  degrees: number
  p_improving: number | null
  p_worsening: number | null
  reversals: number | null
  reversals_p: number | null
  verdict: Direction
  words: string
}
export interface PowerLaw {
  failures: number
  beta: number | null
  beta_unbiased: number | null
  beta_lower: number | null
  beta_upper: number | null
  lambda: number | null
  lambda_unbiased: number | null
  intensity: number | null
  mtbf_days: number | null
  mtbf_days_unbiased: number | null
  mtbf_days_lower: number | null
  mtbf_days_upper: number | null
  cramer_von_mises: number | null
  confidence: number
  words: string
}

export type By = 'kind' | 'model' | 'part' | 'age'
export interface ReliabilityRow {
  key: string
  name: string
  kind: string | null
  pieces: number
  rates: Rates
  repairs: Repairs
  trend: Trend
  power_law: PowerLaw
}
export interface ReliabilityView {
  at: string
  by: By
  from: string
  until: string
  confidence: number
  rows: ReliabilityRow[]
  words: string
  how: string[]
}
export interface StopItem {
  piece: string
  tag: string
  model_name: string
  from: string
  until: string | null
  days: number
  planned: boolean
  reason: string | null
  by: string
  ticket: string | null
}

/** What a number of spares does. */
export interface Stock {
  spares: number
  fill_rate: number
  ready_rate: number
  shortage: number
}
/** The same in a fleet of a known size. `short`: share of the time in which a slot waits. */
export interface Finite {
  spares: number
  short: number
  shortage: number
  away: number
}
export interface ReserveFamily {
  id: string
  key: string
  name: string
  kind: string
  fleet: number
  spares: number
  spare_pieces: { piece: string; tag: string; place: Place }[]
  failures: number
  piece_years: number
  per_piece_year: number | null
  per_piece_year_lower: number | null
  per_piece_year_upper: number | null
  repairs: number
  days_away: number | null
  mean_away: number | null
  now: Stock | null
  words: string
}
export interface ReservesView {
  at: string
  from: string
  until: string
  families: ReserveFamily[]
  how: string[]
}
export interface SizingFamily {
  id: string
  name: string
  fleet: number
  spares: number
  per_piece_year: number
  days_away: number
  price: number
  weight: number
}
export interface SizingAsk {
  budget: number
  target: number
  up_to: number
  families: SizingFamily[]
}
export interface Bought {
  family: string
  spent: number
  takes_away: number
  shortage: number
  stock: Stock
  is_best: boolean
  words: string
}
export interface BuyingCurve {
  before: number
  buy: Bought[]
  spent: number
  shortage: number
  shortage_bound: number
  proved: boolean
  whole: boolean
}
export interface SizedFamily {
  id: string
  mean_away: number
  stocks: Stock[]
  finite: Finite[]
  needed_fill: number | null
  needed_ready: number | null
  words: string
}
export interface SizingView {
  families: SizedFamily[]
  curve: BuyingCurve
}
