// What reliability and reserves send, by the names that these screens use.
import type { components } from 'fullset-client/generated'

type S = components['schemas']
/** The server writes every field; the document calls those optional that may be null. */
type Full<T> = { [K in keyof T]-?: Exclude<T[K], undefined> }

export type By = S['ReliabilityBy']
export type Direction = S['Direction']
export type ReliabilityRow = Omit<Full<S['ReliabilityRow']>, 'rates' | 'repairs' | 'trend' | 'power_law'> & {
  rates: Full<S['Rates']>
  repairs: Full<S['Repairs']>
  trend: Full<S['Trend']>
  power_law: Full<S['PowerLaw']>
}
export type ReliabilityView = Omit<S['Reliability'], 'rows'> & { rows: ReliabilityRow[] }
export type StopItem = Full<S['ReliabilityStop']>

export type Stock = S['Stock']
export type ReserveFamily = Full<S['ReserveFamily']>
export type ReservesView = Omit<S['Reserves'], 'families'> & { families: ReserveFamily[] }
export type SizingAsk = S['SizingAsked']
export type BuyingCurve = S['Curve']
export type SizedFamily = Full<S['SizedFamily']>
export type SizingView = Omit<S['Sizing'], 'families'> & { families: SizedFamily[] }
