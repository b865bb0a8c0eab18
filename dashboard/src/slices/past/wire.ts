// The wire shapes of the past, by hand until the generated ones hold them.
import type { Capability, Defect, HistoryItem, Id, Level, Piece, Rig, Swap } from '@/api/types'

export interface RigLine {
  id: Id
  name: string
  station: string
  level: Level
  since: string
  words: string[]
  margin: number | null
  holds_until: string | null
}
export interface DistrictLine {
  id: Id
  name: string
  min_full: number
  full: number
  limited: number
  none: number
  short: boolean
  rigs: RigLine[]
}
export interface Board {
  revision: number
  at: string
  districts: DistrictLine[]
  totals: Record<Level, number>
}
export interface BoardChange {
  rig: Id
  rig_name: string
  station_name: string
  at: string
  from: Level | null
  to: Level
  planned: boolean
  revision: number
  kind: string | null
  by: string | null
  words: string | null
}
export interface BoardChanges {
  revision: number
  at: string
  until: string
  items: BoardChange[]
  more: boolean
}
export interface Shares {
  known_seconds: number
  seconds: number
  full?: number | null
  limited?: number | null
  none?: number | null
  planned?: number | null
}
export interface AvailabilityRow {
  id: Id
  name: string
  months: Shares[]
  total: Shares
}
export interface Availability {
  at: string
  time_zone: string
  by: 'agency' | 'district' | 'rig'
  months: string[]
  rows: AvailabilityRow[]
  words: string | string[] | null
}
export interface StandingItem {
  from: string
  until: string | null
  level: Level
  planned: boolean
  revision: number
  kind: string | null
  by: string | null
  words: string | null
}
export interface Aboard {
  piece: Piece
  model: string
  defects: Defect[]
}
export interface Sheet {
  at: string
  revision: number
  rig: Rig
  station: string
  capability: Capability | null
  aboard: Aboard[]
  swaps: Swap[]
  before: HistoryItem[]
  since: HistoryItem[]
}
