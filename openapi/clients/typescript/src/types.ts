// The wire shapes by the names that screens use. They come from generated.ts, which `npm run generate` makes out of
// openapi.json; only what the document leaves open (a record of any kind) is said here.
import type { components } from './generated'

type S = components['schemas']

export type Id = string
export type Kind = S['Kind']
export type Level = S['Level']
export type Severity = S['Severity']
export type PieceState = S['PieceState']
export type TicketState = S['TicketState']
export type Role = S['Role']
export type Rating = S['Rating']
export type Hookup = S['Hookup']
export type Place = S['Place']
export type Slot = S['Slot']
export type Agency = S['Agency']
export type District = S['District']
export type Station = S['Station']
export type Shop = S['Shop']
export type RigClass = S['RigClass']
export type Rig = S['Rig']
export type Model = S['Model']
export type Piece = S['Piece']
export type ToolSet = S['ToolSet']
export type Defect = S['Defect']
export type Swap = S['Swap']
export type Ticket = S['Ticket']
export type Member = S['Member']
export type Capability = S['Capability']
export type Session = S['WhoAmI']
export type HistoryItem = S['HistoryItem']
export type StandIn = S['StandIn']
export type Command = Omit<S['Command'], 'body'> & {
  body: Record<string, unknown>
}
export type Problem = Partial<Omit<S['Problem'], 'current'>> &
  Pick<S['Problem'], 'code' | 'title' | 'status'> & {
    /** Seconds to wait before asking again, from `Retry-After`. */
    retry_after?: number
  }
export type Answer = Omit<S['Answer'], 'current' | 'record'> & {
  current?: AnyRecord | null
  problem?: Problem | null
}
export type Change = Omit<S['Change'], 'record'> & {
  record?: AnyRecord | null
}
export type ChangesPage = Omit<S['Changes'], 'changes'> & { changes: Change[] }

export interface Quantity {
  value: number
  unit: string
}

export type ImportRecord = S['RegisterImport']
export type ImportRun = S['Shown']

/** Every record kind that the screens know. The feed may carry others; they are kept and ignored. */
export interface Records {
  agency: Agency
  district: District
  station: Station
  shop: Shop
  rig_class: RigClass
  rig: Rig
  model: Model
  piece: Piece
  tool_set: ToolSet
  defect: Defect
  swap: Swap
  ticket: Ticket
  member: Member
  capability: Capability
  import: ImportRecord
}
export type RecordKind = keyof Records
export type AnyRecord = { id: Id; rev: number } & Record<string, unknown>
