// What one shift tells the next: what changed, what is at risk, what is promised, what must be fetched. Only what is on record.
import type { Defect, Id, Piece, Place, Rig, Swap, Ticket, Use } from '@/api/types'
import { holdWords, ticketWord } from '@/words/ticket'
import { dateIn, dateWords } from '@/words/time'

export interface Facts {
  pieces: readonly Piece[]
  defects: readonly Defect[]
  tickets: readonly Ticket[]
  swaps: readonly Swap[]
  uses: readonly Use[]
  rigs: readonly Rig[]
  /** Whether a rig, a piece or a place is within what the sheet is about. */
  ofRig(rig: Id | null | undefined): boolean
  ofPlace(place: Place | null | undefined): boolean
}
export interface Handover {
  /** Reported since, whatever became of it. */
  defects: Defect[]
  /** Out of service or in again since, but for what the reports above have said already. */
  turned: Piece[]
  /** Out of service or missing now, since whenever that is: the longest first. */
  stopped: Piece[]
  rigs: Rig[]
  uses: Use[]
  /** Begun or ended since. */
  swaps: Swap[]
  /** Usable with a limit: open, and not fixed. */
  limits: Defect[]
  /** A day was named for it: of a ticket, of a loan, of a vendor. The soonest first; what is overdue stands on top. */
  promised: { piece: Piece; on: string; ticket: Ticket | undefined }[]
  /** At a shop, a vendor or on loan, or waiting for a repair, and nobody has named a day. */
  undated: Piece[]
  /** At a shop and ready to go home: tested, or in service again and still there. */
  ready: { piece: Piece; ticket: Ticket | undefined }[]
  /** On its way, not arrived. */
  coming: Piece[]
  /** Stand-ins that are still aboard. */
  standIns: Swap[]
  /** Own pieces that stand in on a rig of somebody else. */
  lent: Swap[]
}
export interface RunsOut {
  at: string
  rigs: Rig[]
  /** Why the first of them does. */
  why: string
}

/** What runs out together stands together, the soonest first. */
export function together(runs: readonly { rig: Rig; at: string; why: string }[]): RunsOut[] {
  const groups = new Map<string, RunsOut>()
  for (const { rig, at, why } of runs) {
    const group = groups.get(at)
    if (group) group.rigs.push(rig)
    else groups.set(at, { at, rigs: [rig], why })
  }
  return [...groups.values()].toSorted((a, b) => a.at.localeCompare(b.at))
}

const DAY = 86_400_000

/** Until when a piece is promised: by whoever it is at, else on its ticket; null: nobody has named a day. */
export function dayNamed({ place }: Piece, ticket: Ticket | undefined): string | null {
  const lent = place.at === 'vendor' || place.at === 'loan' ? (place.due_on ?? null) : null
  return lent ?? ticket?.ready_on ?? null
}
/** ", 3 days late" after a day that is past. */
function lateWords(on: string, now: Date): string {
  const late = Math.round((Date.parse(dateIn(now)) - Date.parse(on.slice(0, 10))) / DAY)
  return late > 0 ? `, ${late === 1 ? '1 day' : `${late} days`} late` : ''
}
/** "27 Nov 2026, 3 days late"; empty where no day is named. */
export const namedWords = (on: string | null, now: Date) =>
  on ? `${dateWords(on)}${lateWords(on, now)}` : ''
/** Where a repair stands, and that the day of what it waits for is past, where no other line says so. */
export function repairWords(ticket: Ticket, now: Date): string {
  const held = holdWords(ticket)
  if (!held) return ticketWord(ticket.state).toLowerCase()
  const on = ticket.expected_on
  return on && on !== ticket.ready_on ? `${held}${lateWords(on, now)}` : held
}

/** A shift of a station or a district is somebody's whose own it is; of others nobody knows that they take part in it. */
export function belongs(
  place: { id: Id },
  who: { station?: Id | null; district?: Id | null } | null | undefined,
  districtOf: (station: Id) => Id | null | undefined,
): boolean {
  const station = who?.station
  return place.id === station || place.id === who?.district || (!!station && place.id === districtOf(station))
}

/** `since`: an instant of the server's writing. */
export function handover(facts: Facts, since: string): Handover {
  const from = Date.parse(since)
  const after = (at: string | null | undefined) => Boolean(at) && Date.parse(at ?? '') >= from
  const pieces = new Map(facts.pieces.map((piece) => [piece.id, piece]))
  const own = (piece: Piece | undefined) =>
    Boolean(piece) && (facts.ofPlace(piece?.place) || facts.ofPlace(piece?.home))
  const mine = facts.pieces.filter(own)
  const about = (id: Id) => own(pieces.get(id))
  const open = facts.tickets.filter((one) => one.state !== 'closed' && about(one.piece))
  const ticketOf = new Map(open.map((one) => [one.piece, one]))
  const newest = <T>(list: T[], at: (one: T) => string | null | undefined) =>
    list.toSorted((a, b) => (at(b) ?? '').localeCompare(at(a) ?? ''))
  const reported = facts.defects.filter((one) => after(one.seen_at) && about(one.piece))
  const stopped = new Set(
    reported
      .filter((one) => one.state === 'open' && one.severity === 'out_of_service')
      .map((one) => one.piece),
  )
  const told = (piece: Piece) => piece.state === 'out_of_service' && stopped.has(piece.id)
  const ready = mine.flatMap((piece) => {
    const ticket = ticketOf.get(piece.id)
    const done = ticket ? ticket.state === 'tested' : piece.state === 'in_service'
    const away = piece.place.at === 'shop' && piece.home?.at !== 'shop'
    return done && (ticket || away) ? [{ piece, ticket }] : []
  })
  const readyNow = new Set(ready.map(({ piece }) => piece.id))
  const waited = mine.filter((piece) => piece.state !== 'retired' && !readyNow.has(piece.id))
  const openSwaps = facts.swaps.filter((one) => one.state === 'open')
  return {
    defects: newest(reported, (one) => one.seen_at),
    turned: newest(
      mine.filter((one) => after(one.state_since) && one.state !== 'retired' && !told(one)),
      (one) => one.state_since,
    ),
    stopped: mine
      .filter((one) => one.state === 'out_of_service' || one.state === 'missing')
      .toSorted((a, b) => Date.parse(a.state_since) - Date.parse(b.state_since)),
    rigs: facts.rigs.filter((one) => !one.in_service && facts.ofRig(one.id)),
    uses: newest(
      facts.uses.filter((one) => after(one.used_at) && one.pieces.length > 0 && facts.ofRig(one.rig)),
      (one) => one.used_at,
    ),
    swaps: facts.swaps.filter(
      (one) => (after(one.started_at) || after(one.ended_at)) && facts.ofRig(one.rig),
    ),
    limits: facts.defects.filter(
      (one) =>
        one.state === 'open' &&
        one.severity === 'usable' &&
        pieces.get(one.piece)?.state === 'in_service' &&
        about(one.piece),
    ),
    promised: waited
      .flatMap((piece) => {
        const ticket = ticketOf.get(piece.id)
        const on = dayNamed(piece, ticket)
        return on ? [{ piece, on, ticket }] : []
      })
      .toSorted((a, b) => a.on.localeCompare(b.on)),
    undated: waited.filter((piece) => {
      const ticket = ticketOf.get(piece.id)
      const elsewhere = ['shop', 'vendor', 'loan'].includes(piece.place.at)
      return (ticket || elsewhere) && !dayNamed(piece, ticket)
    }),
    ready,
    coming: facts.pieces.filter((one) => one.place.at === 'transit' && facts.ofPlace(one.place.to)),
    standIns: openSwaps.filter((one) => facts.ofRig(one.rig)),
    lent: openSwaps.filter((one) => !facts.ofRig(one.rig) && facts.ofPlace(pieces.get(one.piece)?.home)),
  }
}
