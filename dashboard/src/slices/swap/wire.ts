// The swap plan as the server answers it, by the names of the contract.
import type { Id, Kind, Level, Place } from '@/api/types'

export interface MoveLine {
  piece: Id
  /** The piece as the plan saw it. */
  piece_rev: number
  tag: string
  kind: Kind
  model: Id
  from: Place
  donor_rig?: Id | null
  rig: Id
  rig_name: string
  /** None: needed behind the scenes. */
  slot?: string | null
  slot_name?: string | null
  minutes?: number | null
  distance_km?: number | null
  /** What it leaves open behind. */
  leaves?: string | null
  words: string
}
export interface RestoredLine {
  rig: Id
  name: string
  moves: number
  weight: number
  words: string
}
export interface SwapPlanView {
  revision: number
  at: string
  by: 'demand' | 'rigs'
  total: number
  before: number
  after: number
  bound: number
  proved: boolean
  minutes: number
  moves: MoveLine[]
  restored: RestoredLine[]
  unrestored: { rig: Id; name: string; level: Level; words: string }[]
  gaps: number
  donors: number
  arriving: number
  words: string
}
