// Shapes that the service is about to speak. This file goes as soon as generated.ts has them.
import type {
  Aboard as OldAboard,
  Agency as OldAgency,
  Defect as OldDefect,
  Id,
  Kind as OldKind,
  Model as OldModel,
  Piece as OldPiece,
  Quantity,
  Rating,
  Records as OldRecords,
  Rig as OldRig,
  Severity,
  Sheet as OldSheet,
  Ticket as OldTicket,
  Place,
} from 'fullset-client'

export type Kind = OldKind | 'adapter'
export type Gear =
  | 'chains'
  | 'ram_support'
  | 'ram_extension'
  | 'tips'
  | 'cribbing'
  | 'struts'
  | 'lifting_bag'
  | 'edge_covers'
  | 'glass_tools'
  | 'airbag_restraint'
  | 'straps'
  | 'mains_adapter'
  | 'other'
export type Drive = 'power_unit' | 'hand_pump' | 'battery'
export type Level = 'not_judged' | 'none' | 'limited' | 'full' | 'heavy'
export type Completeness = 'complete' | 'incomplete' | 'no_list'
export type Ratings = Record<string, Rating>

export type Via = { by: 'line'; source: Id; parts: Id[] } | { by: 'pack'; pack: Id } | { by: 'own_pack' }
export interface Driven {
  piece: Id
  via: Via | null
}
export interface NeedAnswer {
  need: string
  name: string
  met: boolean
  pieces: Driven[]
}
export interface Filling {
  slot: string
  piece: Id | null
  via: Via | null
}
export interface Near {
  piece?: Id | null
  code: string
  words: string
  since?: string | null
}
export interface Gap {
  in: 'need' | 'slot'
  id: string
  name: string
  required: boolean
  kinds: Kind[]
  words: string[]
  near: Near[]
}
export interface Reason {
  piece?: Id | null
  code: string
  words: string
  since?: string | null
}
export interface RestoreAct {
  act: 'put_rig_back' | 'check' | 'put_aboard' | 'put_right'
  piece?: Id | null
  need?: string | null
  kind?: Kind | null
  family?: string | null
  words: string
}
export interface Assessment {
  level: Level
  expects: Level | null
  completeness: Completeness
  confirmed: boolean
  confirmed_level: Level
  doubts: Reason[]
  holds_until: string | null
  target: Level
  needs: NeedAnswer[]
  at_once: number
  at_once_needed: number
  at_once_exact: boolean
  margin: number | null
  margin_at_least: boolean
  critical: Id[]
  fillings: Filling[]
  gaps: Gap[]
  restore: RestoreAct[]
  restore_is_smallest: boolean
  also: string[]
  still_runs: string[]
  remarks: string[]
}
export interface RigStanding extends Assessment {
  id: Id
  rev: number
  rig_name: string
  since: string
  planned: boolean
  pending: boolean
}
export type Verdict = 'no' | 'not_on_this_rig' | 'cannot_be_confirmed' | 'yes_with_limit' | 'yes'

export interface NeededReading {
  measure: string
  label: string
  /** What its value measures; null: answered with yes or no. */
  dimension: 'pressure' | 'time' | 'force' | null
  /** The answer that releases, for yes or no. */
  answer: boolean | null
  low: Quantity | null
  high: Quantity | null
  plate: Quantity | null
  baseline: Quantity | null
  limit_on_record: boolean
}
export interface Needed {
  readings: NeededReading[]
  signs: 'officer' | 'technician' | 'makers_service'
  manual: boolean
  ending: 'returns' | 'retires_unless_maker' | 'retires'
  cautions: string[]
}
export interface PieceStanding {
  id: Id
  rev: number
  rig: Id | null
  since: string
  verdict: Verdict
  reasons: Reason[]
  last_check: string | null
  holds_until: string | null
  release: Needed | null
  pending?: boolean
}

export type Duty = 'front_line' | 'ready_reserve' | 'stripped_reserve'
export type OutAt = 'mechanic' | 'lent' | 'other'
export type Rig = OldRig & { duty: Duty; out_at: OutAt | null }
export type PieceState = OldPiece['state'] | 'missing'
export interface PieceLimit {
  defect: Id
  words: string
  repair_by: string
}
export type Piece = Omit<OldPiece, 'kind' | 'state'> & {
  kind: Kind
  state: PieceState
  limits: PieceLimit[]
  used_at?: string | null
  checked_at?: string | null
}
export type Model = Omit<OldModel, 'kind'> & { kind: Kind; gear?: Gear | null }
export type DefectClass =
  | 'cut_or_blister'
  | 'leak'
  | 'kink'
  | 'deformation'
  | 'drop_or_overload'
  | 'fire'
  | 'flood'
  | 'electrical'
  | 'fluid_mix'
  | 'stuck_under_pressure'
  | 'control_does_not_return'
  | 'other'
export type Defect = OldDefect & {
  class: DefectClass
  limit?: { words: string; repair_by: string; repair_by_day: string; extended?: object | null } | null
}
export interface TestReading {
  measure: string
  value?: Quantity | null
  yes?: boolean | null
  what?: string | null
}
export type Ticket = Omit<OldTicket, 'tests'> & {
  tests: {
    at: string
    by: string
    passed: boolean
    annual: boolean
    evidence: {
      readings: TestReading[]
      manual?: string | null
      makers_service?: string | null
      note?: string | null
    }
  }[]
}
export interface DefectRule {
  kind: Kind
  class: DefectClass
  applies: boolean
  usable_by: 'nobody' | 'officer' | 'crew'
  limit: string | null
  repair_by_days: number | null
  shop: boolean
}
export interface Slot {
  id: string
  name: string
  kinds: Kind[]
  required: boolean
  gear?: Gear | null
  minimums: Ratings
}
export interface RigClass {
  id: Id
  rev: number
  name: string
  complement: { slots: Slot[] }
  expects: Level | null
}

export interface GradePart {
  kinds: Kind[]
  gear?: Gear | null
  minimums: Ratings
  drives?: Drive[]
}
export interface Alternative {
  parts: GradePart[]
  covers?: { from: Quantity; to: Quantity } | null
}
export interface Need {
  id: string
  name: string
  alternatives: Alternative[]
}
export interface Grade {
  needs: Need[]
  tools_at_once: number
  kinds_of_drive: number
  spare_packs: number
  line_length?: Quantity | null
  hand_pump: boolean
}
export interface Grades {
  limited: Grade
  full: Grade
  heavy?: Grade | null
}
export interface GradeTemplate {
  template: 'en' | 'nfpa'
  title: string
  source: string
  grades: Grades
}
export interface Policy {
  overdue_grace_days: number | null
  annual_check_days: number
  hose_life_years: number | null
  pressure_tolerance: number
  batteries: 'where_on_record' | 'as_pieces' | 'with_tool'
  adapters: boolean
  unknown_hose_age: { until: string; reason: string } | null
  photo_quota_mb: number
}
export type Agency = Omit<OldAgency, 'policy'> & { policy: Policy; grades: Grades | null }

export interface Effects {
  rigs: {
    rig: Id
    name: string
    before: Level
    after: Level
    confirmed_before: boolean
    confirmed_after: boolean
  }[]
  pieces: { piece: Id; tag: string; before: Verdict; after: Verdict }[]
  words: string[]
  problem: {
    code: string
    title: string
    status: number
    detail?: string | null
    hint?: string | null
  } | null
}
export interface RemedyCandidate {
  piece: Id
  tag: string
  rev: number
  model: Id
  kind: Kind
  place: Place
  where: string
  state: string
  ready: boolean
  expected_on: string | null
  call: string
  station: Id | null
  distance_km: number | null
  minutes: number | null
  restores: Level
  serves: boolean
  words: string
  leaves: string | null
}
export interface Remedy {
  in: 'need' | 'slot'
  id: string
  name: string
  candidates: RemedyCandidate[]
}

export interface RigLine {
  id: Id
  name: string
  station: string
  duty: Duty
  out: OutAt | null
  level: Level
  expects: Level | null
  as_expected: boolean | null
  completeness: Completeness
  confirmed: boolean
  since: string
  words: string[]
  doubts: string[]
  remarks: string[]
  margin: number | null
  holds_until: string | null
  pending: boolean
}
export interface DistrictLine {
  id: Id
  name: string
  min_full: number
  full: number
  expected: number
  able: number
  confirmed: number
  limited: number
  none: number
  not_judged: number
  short: boolean
  min_above_expected: boolean
  rigs: RigLine[]
}
export interface Board {
  revision: number
  at: string
  grades_set: boolean
  headline: { expected: number; able: number; confirmed: number }
  totals: { not_judged: number; none: number; limited: number; full: number; heavy: number }
  apart: { ready_reserve: number; stripped_reserve: number; out: number }
  districts: DistrictLine[]
}
export type Aboard = Omit<OldAboard, 'piece'> & { piece: Piece }
export type Sheet = Omit<OldSheet, 'capability' | 'rig' | 'aboard'> & {
  rig: Rig
  standing: RigStanding | null
  aboard: Aboard[]
}

export type Records = Omit<
  OldRecords,
  'capability' | 'rig' | 'piece' | 'defect' | 'agency' | 'rig_class' | 'ticket' | 'model'
> & {
  rig_standing: RigStanding
  piece_standing: PieceStanding
  rig: Rig
  piece: Piece
  defect: Defect
  agency: Agency
  rig_class: RigClass
  ticket: Ticket
  model: Model
}
export type RecordKind = keyof Records
export type { Severity }
