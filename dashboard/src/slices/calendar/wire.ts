// The shapes of the service plan's addresses, named as the server names them.
import type { Id, Problem } from '@/api/types'

export interface PlanHours {
  set: Id
  hours: number
}
export interface PlanShop {
  shop: Id
  hours: number
  closed: number[]
}
export interface PlanCap {
  district: Id
  most_away: number
}
export interface PlanPin {
  set: Id
  period: number
  shop: Id
}
/** What a plan is worked out from. Periods are numbered from 0. */
export interface PlanAsk {
  first_day: string
  period_days: number
  periods: number
  early_days: number
  late_days: number
  hours_per_set: number
  hours: PlanHours[]
  shops: PlanShop[]
  caps: PlanCap[]
  pins: PlanPin[]
}
export interface PlanVisit {
  set: Id
  name: string
  district: Id | null
  period: number
  shop: Id
  hours: number
  due_on: string
  late: number
  pinned: boolean
}
export type PlanState = 'draft' | 'published' | 'withdrawn'
export interface ServicePlanRecord {
  id: Id
  name: string
  state: PlanState
  first_day: string
  period_days: number
  periods: number
  note: string | null
  asked: PlanAsk
  visits: PlanVisit[]
  lateness: number
  peak_hours: number
  proved: boolean
  published_at: string | null
  published_by: string | null
  rev: number
}

export interface PlanPeriod {
  first_day: string
  last_day: string
  name: string
}
export interface DueSet {
  set: Id
  name: string
  district: Id | null
  home_words: string
  pieces: number
  due_on: string
  due_period: number
  earliest: number
  latest: number
  hours: number
  overdue: boolean
  takes_place: boolean
  words: string
}
export interface DueDistrict {
  id: Id
  name: string
  full: number
  minimum: number
  stand_ins: number
  most_away: number
}
export interface DueShop {
  id: Id
  name: string
  hours: number[]
}
export interface PlanLeftOut {
  set: Id | null
  name: string
  words: string
}
export interface DueYear {
  periods: PlanPeriod[]
  sets: DueSet[]
  districts: DueDistrict[]
  shops: DueShop[]
  left_out: PlanLeftOut[]
}

export interface Obstacle {
  kind: 'no_place' | 'slots_short' | 'hours_short' | 'whole_sets'
  districts: Id[]
  periods: number[]
  sets: Id[]
  needs: number
  has: number
  words: string
}
export interface Relief {
  district?: Id
  shop?: Id
  set?: Id
  period?: number
  more: number
  words: string
}
export interface ServicePlan {
  verdict: 'planned' | 'impossible' | 'not_found'
  plan: { set: Id; period: number; shop: Id; late: number }[]
  lateness: number
  lateness_bound: number
  peak_hours: number
  peak_bound: number
  proved: boolean
  loads: { shop: Id; hours: number[] }[]
  obstacles: Obstacle[]
  reliefs: Relief[]
  words: string
}
export interface PlanAnswer extends DueYear {
  plan: ServicePlan
  visits: PlanVisit[]
}
export type PlanLine =
  { progress: { share: number; words: string } } | { answer: PlanAnswer } | { problem: Problem }
