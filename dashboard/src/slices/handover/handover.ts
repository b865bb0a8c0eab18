// What one shift tells the next: what changed, what is at risk, what is promised, what must be fetched. Only what is on record.
import type { Defect, Id, Piece, Place, Rig, Swap, Ticket, Use } from '@/api/types'

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
  /** Out of service or in again since. */
  turned: Piece[]
  rigs: Rig[]
  uses: Use[]
  /** Begun or ended since. */
  swaps: Swap[]
  /** Usable with a limit: open, and not fixed. */
  limits: Defect[]
  /** A day was named for it: of a ticket, of a loan, of a vendor. The soonest first; what is overdue stands on top. */
  promised: { piece: Piece; on: string; ticket: Ticket | undefined }[]
  /** Tested and ready at a shop. */
  ready: { piece: Piece; ticket: Ticket }[]
  /** On its way, not arrived. */
  coming: Piece[]
  /** Stand-ins that are still aboard. */
  standIns: Swap[]
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
  return {
    defects: newest(
      facts.defects.filter((one) => after(one.seen_at) && about(one.piece)),
      (one) => one.seen_at,
    ),
    turned: newest(
      mine.filter((one) => after(one.state_since) && one.state !== 'retired'),
      (one) => one.state_since,
    ),
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
    promised: mine
      .flatMap((piece) => {
        const ticket = ticketOf.get(piece.id)
        const { place } = piece
        const on = place.at === 'vendor' || place.at === 'loan' ? place.due_on : ticket?.expected_on
        return on ? [{ piece, on, ticket }] : []
      })
      .toSorted((a, b) => a.on.localeCompare(b.on)),
    ready: open.flatMap((ticket) => {
      const piece = pieces.get(ticket.piece)
      return piece && ticket.state === 'tested' ? [{ piece, ticket }] : []
    }),
    coming: facts.pieces.filter((one) => one.place.at === 'transit' && facts.ofPlace(one.place.to)),
    standIns: facts.swaps.filter((one) => one.state === 'open' && facts.ofRig(one.rig)),
  }
}
