// The answers of the coverage addresses, by the names of the contract.
import type { Id, Level } from '@/api/types'

export interface DemandZone {
  id: Id
  name: string
  lat: number
  lon: number
  weight: number
}
export interface TravelTimes {
  source: string
  stations: Id[]
  /** A row for each zone; null: by the curve. */
  minutes: (number | null)[][]
}
export interface Demand {
  id: Id
  source: string
  counts: string
  target_minutes: number
  detour: number
  zones: DemandZone[]
  times?: TravelTimes | null
  rev: number
}
export interface Refused {
  line: number
  words: string
}
export interface ZonesRead {
  zones: DemandZone[]
  refused: Refused[]
  words: string
}
export interface TimesRead {
  times: TravelTimes
  refused: Refused[]
  words: string
}
export interface RigLine {
  id: Id
  name: string
  station: Id
  station_name: string
  district: Id
  /** None: its station has times but no point. */
  lat?: number | null
  lon?: number | null
  level: Level
}
export interface ZoneLine extends DemandZone {
  district?: Id | null
  first?: Id | null
  first_minutes?: number | null
  second?: Id | null
  second_minutes?: number | null
  nearest_minutes?: number | null
}
export interface DistrictReach {
  id: Id
  name: string
  weight: number
  first: number
  second: number
  first_share?: number | null
  second_share?: number | null
  words: string
}
export interface RigReach {
  rig: Id
  weight: number
  second_weight: number
  zones: Id[]
  words: string
}
export interface CoverageView {
  revision: number
  at: string
  target_minutes: number
  detour: number
  counts?: string | null
  /** Pairs of rig and zone by given times. */
  measured: number
  /** Pairs by the curve. */
  by_curve: number
  rigs: RigLine[]
  zones: ZoneLine[]
  districts: DistrictReach[]
  total: number
  first: number
  first_share: number
  second: number
  second_share: number
  losses: RigReach[]
  gains: RigReach[]
  left_out: { rig: Id; name: string; words: string }[]
  words: string
}
export interface SiteStation {
  id: Id
  name: string
  lat?: number | null
  lon?: number | null
  gain: number
  has_full: boolean
}
export interface BestPlaces {
  sets: number
  places: Id[]
  value: number
  share: number
  bound: number
  gap: number
  proved: boolean
}
export interface ReserveSites {
  revision: number
  target_minutes: number
  stations: SiteStation[]
  places: {
    total: number
    already: number
    coverable: number
    gains: number[]
    best: BestPlaces[]
    enough?: number | null
    words: string
  }
}
