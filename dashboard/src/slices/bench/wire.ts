// The order of the bench as the server answers it, by the names of the contract.
import type { Id } from '@/api/types'

export type Standing = 'only_full_rig' | 'under_minimum' | 'returns' | 'waits'
export interface RankedTicket {
  ticket: Id
  standing: Standing
  /** Weighted capability that returns. */
  returns: number
  words: string
}
export interface BenchOrder {
  revision: number
  at: string
  by?: 'demand' | 'rigs'
  items: RankedTicket[]
}
