// The wire shapes by the names that screens use. They come from generated.ts, which `npm run generate` makes out of
// openapi.json; only what the document leaves open (a record of any kind) is said here.
import type { components } from './generated'

type S = components['schemas']
/** As the server answers it: the document calls optional what may be null or has a default, but every field is written. */
type Full<T> = T extends object ? { [K in keyof T]-?: Full<Exclude<T[K], undefined>> } : T

export type Id = string
export type Kind = S['Kind']
export type Term = S['Term']
export type Level = S['Level']
export type Severity = S['Severity']
export type PieceState = S['PieceState']
export type PieceAct = S['PieceAct']
export type TicketState = S['TicketState']
export type TicketStep = S['TicketStep']
export type TicketCause = S['TicketCause']
export type TicketWaitReason = S['TicketWaitReason']
export type LineKind = S['LineKind']
export type Role = S['Role']
export type Rating = S['Rating']
export type Hookup = S['Hookup']
export type Place = S['Place']
export type Slot = S['Slot']
export type Locale = S['Locale']
export type Agency = S['Agency']
export type MapTiles = S['MapTiles']
export type District = S['District']
export type Station = S['Station']
export type Shop = S['Shop']
export type RigClass = S['RigClass']
export type Rig = S['Rig']
export type Coupling = S['Coupling']
export type Model = S['Model']
export type Piece = S['Piece']
export type ToolSet = S['ToolSet']
export type Defect = S['Defect']
export type DefectAct = S['DefectAct']
export type DefectNote = S['DefectNote']
export type Swap = S['Swap']
export type Ticket = S['Ticket']
export type Member = S['Member']
export type Person = Required<S['Person']>
export type CheckPlan = S['CheckPlan']
export type CheckPlanBody = S['CheckPlanBody']
export type CheckRhythm = S['CheckRhythm']
export type CheckEvent = S['CheckEvent']
export type CheckSigner = S['CheckSigner']
export type CheckProof = S['CheckProof']
export type PlanStep = S['PlanStep']
export type StepAsk = S['StepAsk']
export type StepLimit = S['StepLimit']
export type StepStage = S['StepStage']
export type StepDrive = S['StepDrive']
export type StarterPlan = S['StarterPlan']
export type Measure = S['Measure']
export type Dimension = S['Dimension']
export type MakersBound = S['MakersBound']
export type NoticeReading = S['NoticeReading']
export type Mishap = S['Mishap']
export type MishapSort = S['MishapSort']
export type MishapDuring = S['MishapDuring']
export type Handover = S['Handover']
export type FieldTrial = Full<S['FieldTrial']>
export type FieldTrialState = S['FieldTrialState']
export type TrialMeasure = S['TrialMeasure']
export type BetterIs = S['BetterIs']
export type TrialMeasurement = S['TrialMeasurement']
export type TrialAnswer = S['TrialAnswer']
export type TrialReading = S['TrialReading']
export type FieldTrialResult = Full<S['FieldTrialResult']>
export type CandidateResult = Full<S['CandidateResult']>
export type Safety = Full<S['Safety']>
export type DoubtfulChecks = Full<S['DoubtfulChecks']>
export type CheckWalk = S['CheckWalk']
export type LifePart = S['LifePart']
export type ServiceLife = S['ServiceLife']
export type ServiceLives = Full<S['ServiceLives']>
export type Replacements = Full<S['Replacements']>
export type SignOff = S['SignOff']
export type RigStanding = Full<S['RigStanding']>
export type PieceStanding = Full<S['PieceStanding']>
export type StepSaid = S['StepSaid']
export type CheckOutcome = S['CheckOutcome']
export type CheckDue = S['CheckDue']
export type PlanDue = S['PlanDue']
export type EarlierReading = S['EarlierReading']
export type Check = S['Check']
export type Verdict = S['PieceVerdict']
export type Completeness = S['Completeness']
export type NeedAnswer = Full<S['NeedAnswer']>
export type Driven = Full<S['Driven']>
export type Via = S['Via']
export type Filling = Full<S['Filling']>
export type Gap = Full<S['Gap']>
export type Near = Full<S['Near']>
export type Reason = Full<S['Reason']>
export type Grades = S['Grades']
export type GradeTemplate = S['GradeTemplate']
export type Grade = S['Grade']
export type Need = S['Need']
export type Alternative = S['Alternative']
export type GradePart = S['Part']
export type Drive = S['Drive']
export type Gear = S['Gear']
export type Policy = S['Policy']
export type Duty = S['Duty']
export type OutAt = S['OutAt']
export type DefectClass = S['DefectClass']
export type DefectRule = S['DefectRule']
export type Needed = Full<S['Needed']>
export type NeededReading = Full<S['NeededReading']>
export type TestReading = S['Reading']
export type Evidence = S['Evidence']
export type Clearance = Full<S['Clearance']>
export type Effects = S['Effects']
export type Remedy = Full<S['Remedy']>
export type RemedyCandidate = Full<S['Candidate']>
export type Session = S['WhoAmI']
export type Device = S['Device']
export type Use = S['Use']
export type Invitation = S['Invitation']
export type HistoryItem = S['HistoryItem']
export type BenchOrder = S['BenchOrder']
export type Ranked = S['Ranked']
export type Rank = S['Rank']
export type Demand = S['Demand']
export type DemandZone = S['DemandZone']
export type MapLines = S['MapLines']
export type MapGeometry = S['MapGeometry']
export type TravelTimes = S['TravelTimes']
export type Refused = S['Refused']
export type ZonesRead = S['ZonesRead']
export type TimesRead = S['TimesRead']
export type CoverageView = S['CoverageView']
export type ZoneLine = S['ZoneLine']
export type RigReach = S['RigReach']
export type CardDraft = S['CardDraft']
export type CardPicture = S['CardPicture']
export type CardSection = S['CardSection']
export type CardSubject = S['CardSubject']
export type CardText = S['CardText']
export type OperatingCard = S['OperatingCard']
export type Crew = S['Crew']
export type CrewsNow = S['CrewsNow']
export type Shift = S['Shift']
export type ShiftMinimum = S['ShiftMinimum']
export type Rollout = S['Rollout']
export type RolloutRig = S['RolloutRig']
export type RolloutWord = S['RolloutWord']
export type RolloutProgress = S['RolloutProgress']
export type RolloutWeek = S['RolloutWeek']
export type RigProgress = S['RigProgress']
export type StationShifts = S['StationShifts']
export type ShiftAnswer = S['ShiftAnswer']
export type StageAnswer = S['StageAnswer']
export type RolloutStage = S['RolloutStage']
export type RolloutSets = S['RolloutSets']
export type RolloutJoint = S['RolloutJoint']
export type RolloutAdapter = S['RolloutAdapter']
export type SetModel = S['SetModel']
export type RigCrew = S['RigCrew']
export type UnsignedGear = S['UnsignedGear']
export type Receiver = S['Receiver']
export type ChangeKind = S['ChangeKind']
export type Alert = Full<S['Alert']>
export type Telling = Full<S['Telling']>
export type AlertStands = S['Stands']
export type OwnSubscriptions = S['OwnSubscriptions']
export type SubscriptionShown = S['SubscriptionShown']
export type CalendarFeed = Full<S['CalendarFeed']>
export type ApiKey = Full<S['ApiKey']>
export type Half = S['Half']
export type MemberAccess = S['MemberAccess']
export type SignInShown = S['SignInShown']
export type AccessEvent = S['EventShown']
export type OpenLink = S['OpenLink']
export type FactorKey = S['FactorKey']
export type FactorShown = S['FactorShown']
export type OwnPasskeys = S['OwnPasskeys']
export type PasskeyShown = S['PasskeyShown']
export type PasskeyToMake = S['PasskeyToMake']
export type PasskeyAsked = S['PasskeyAsked']
export type SignedByPasskey = S['SignedByPasskey']
export type CalendarPlace = S['CalendarPlace']
export type Notice = S['Notice']
export type NoticeAction = S['NoticeAction']
export type NoticeHit = S['NoticeHit']
export type NoticeMark = S['NoticeMark']
export type NoticePiece = S['NoticePiece']
export type NoticeProgress = S['NoticeProgress']
export type ReserveSites = S['ReserveSites']
export type Site = S['Site']
export type BestPlaces = S['BestPlaces']
export type SwapPlanView = S['SwapPlanView']
export type MoveLine = S['MoveLine']
export type RestoredLine = S['RestoredLine']
export type Board = S['Board']
export type RigLine = S['RigLine']
export type DistrictLine = S['DistrictLine']
export type BoardChange = S['BoardChange']
export type BoardChanges = S['BoardChanges']
export type Shares = S['Shares']
export type AvailabilityRow = S['AvailabilityRow']
export type Availability = S['Availability']
export type DistrictsAtMinimum = Full<S['DistrictsAtMinimum']>
export type Standing = S['Standing']
export type StandingItem = S['StandingItem']
export type Aboard = S['Aboard']
export type Sheet = Omit<S['Sheet'], 'capability'> & { capability?: RigStanding | null }
export type ReliabilityBy = S['ReliabilityBy']
export type Direction = S['Direction']
export type Stock = S['Stock']
export type SizingRequest = S['SizingRequest']
export type PlanPin = S['PlanPin']
export type PlanState = S['PlanState']
export type Obstacle = S['Obstacle']
export type PlanAsk = Full<S['PlanAsk']>
export type PlanVisit = Full<S['PlanVisit']>
export type ServicePlanRecord = Full<S['ServicePlanRecord']>
export type DueYear = Full<S['DueYear']>
export type Relief = S['Relief']
export type PlanAnswer = Full<S['PlanAnswer']>
export type PlanLine = Full<S['PlanLine']>
export type ReserveFamily = Full<S['ReserveFamily']>
export type SizedFamily = Full<S['SizedFamily']>
export type ReliabilityRow = Full<S['ReliabilityRow']>
export type StopItem = Full<S['ReliabilityStop']>
export type ReliabilityView = Full<S['Reliability']>
export type ReservesView = Full<S['Reserves']>
export type SizingView = Full<S['Sizing']>
export type StockReach = S['StockReach']
export type BuyingCurve = S['Curve']
/** Every kind of command that this client knows. */
export type CommandKind = S['Command']['kind']
type CommandOf<K extends CommandKind> = Extract<S['Command'], { kind: K }>
/** What a kind takes. */
export type BodyOf<K extends CommandKind> = CommandOf<K>['body']
/** A revision, or in a chain made without a signal the command that left the record so. */
export type Expected = number | S['LeftBy']
/** The revision that a kind was decided on: to be named, even if it is not known here; may be named; or looked at by none. */
type Decided<C> = C extends { expects: Expected }
  ? { expects: Expected | undefined }
  : { expects?: C extends { expects?: unknown } ? Expected | undefined : undefined }
/**
 * What somebody decided, before it is a command: the kind with its body, and with the revision that it was decided on where the kind
 * looks at one. A wrong body, or a revision that is needed and not thought of, does not compile.
 */
export type Write<K extends CommandKind = CommandKind> = {
  /** `id`: where what comes after has to name it; made new else. */
  [Each in K]: { kind: Each; body: BodyOf<Each>; id?: Id } & Decided<CommandOf<Each>>
}[K]
/** A command as it waits and goes over the wire. */
export interface Command {
  id: Id
  kind: string
  at?: string | null
  expects?: Expected | null
  after?: Id | null
  by?: S['Signed'] | null
  body: Record<string, unknown>
}
/** The words of problems; a later server may answer others. */
export type ProblemCode = S['ProblemCode']
export type Problem = Partial<Omit<S['Problem'], 'current' | 'code'>> &
  Pick<S['Problem'], 'title' | 'status'> & {
    /** A `ProblemCode`, or what a later server or this client says. */
    code: string
    /** Seconds to wait before asking again, from `Retry-After`. */
    retry_after?: number
  }
export type Answer = Omit<S['Answer'], 'current' | 'record' | 'problem'> & {
  current?: AnyRecord | null
  problem?: Problem | null
}
export type Change = Omit<S['Change'], 'record'> & {
  record?: AnyRecord | null
}
export type Unsettled = S['Unsettled']
export type ChangesPage = Omit<S['Changes'], 'changes'> & { changes: Change[] }

export interface Quantity {
  value: number
  unit: string
}

export type ImportRecord = S['Import']
export type ImportRun = S['ImportRun']
export type ImportProgress = S['ImportProgress']

/** Every record kind of the feed. A later server may send others; they are kept and ignored. */
export interface Records {
  agency: Agency
  district: District
  station: Station
  shop: Shop
  rig_class: RigClass
  rig: Rig
  coupling: Coupling
  model: Model
  piece: Piece
  tool_set: ToolSet
  defect: Defect
  defect_note: DefectNote
  swap: Swap
  ticket: Ticket
  member: Member
  rig_standing: RigStanding
  piece_standing: PieceStanding
  import: ImportRecord
  use: Use
  device: Device
  demand: Demand
  map_lines: MapLines
  service_plan: ServicePlanRecord
  check_plan: CheckPlan
  check: Check
  notice: Notice
  notice_reading: NoticeReading
  mishap: Mishap
  handover: Handover
  field_trial: FieldTrial
  trial_answer: TrialAnswer
  trial_reading: TrialReading
  crew: Crew
  shift: Shift
  rollout: Rollout
  rollout_rig: RolloutRig
  operating_card: OperatingCard
  card_draft: CardDraft
  receiver: Receiver
  alert: Alert
  calendar_feed: CalendarFeed
  api_key: ApiKey
}
export type RecordKind = keyof Records
export type AnyRecord = { id: Id; rev: number } & Record<string, unknown>
