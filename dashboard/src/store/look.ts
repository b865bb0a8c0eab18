// Questions that several screens ask of the world. Each reads only what it needs, so that it follows changes.
import type { Defect, DefectNote, Id, Person, Piece, Place, Rig, Slot, Ticket } from '@/api/types'
import { placeWords } from '@/words/place'
import { world } from './world.svelte'

const names = {
  rig: (id: Id) => world.name('rig', id),
  station: (id: Id) => world.get('station', id)?.name,
  shop: (id: Id) => world.get('shop', id)?.name,
}

export const whereWords = (place: Place | null | undefined) => placeWords(place, names)
export const modelName = (piece: Piece | undefined) =>
  world.get('model', piece?.model)?.name ?? 'model not known'

/** The name that a member had then. */
export const personName = (by: Person | null | undefined) => by?.name || 'somebody'

export function piecesOn(rig: Id): Piece[] {
  return world.group('piece', 'rig', (p) => (p.place.at === 'rig' ? p.place.rig : null)).get(rig) ?? []
}
/** Of these pieces, those that the server says were not tried since they came aboard and does not say cannot run there: nobody is asked
 *  to join by force what does not fit. */
export const untried = (pieces: Piece[]) =>
  pieces.filter((piece) => {
    const standing = world.get('piece_standing', piece.id)
    return (
      standing?.verdict !== 'not_on_this_rig' &&
      standing?.reasons.some((reason) => reason.code === 'not-tried')
    )
  })
export function defectsOf(piece: Id): Defect[] {
  return world.group('defect', 'piece', (d) => d.piece).get(piece) ?? []
}
/** What was seen of a defect again, in the order of time. */
export const notesOf = (defect: Id): DefectNote[] =>
  (world.group('defect_note', 'defect', (note) => note.defect).get(defect) ?? []).toSorted((a, b) =>
    a.at < b.at ? -1 : 1,
  )
export const openDefects = (piece: Id) => defectsOf(piece).filter((d) => d.state === 'open')
export function openTicket(piece: Id): Ticket | undefined {
  return (world.group('ticket', 'piece', (t) => t.piece).get(piece) ?? []).find((t) => t.state !== 'closed')
}
export function openSwaps(rig?: Id) {
  return world.all('swap').filter((s) => s.state === 'open' && (!rig || s.rig === rig))
}
export function slotsOf(rig: Rig | undefined): Slot[] {
  return world.get('rig_class', rig?.rig_class)?.complement.slots ?? []
}
export function districtOf(rig: Rig): Id | undefined {
  return world.get('station', rig.station)?.district
}

/** The rig a piece rides on. */
export function rigOfPiece(piece: Piece | undefined): Rig | undefined {
  return piece?.place.at === 'rig' ? world.get('rig', piece.place.rig) : undefined
}

/** Changes whenever a rig's level does: what the server reckons from levels is asked again then. */
export const levelsNow = () =>
  world
    .all('rig_standing')
    .map((one) => `${one.id}${one.level}`)
    .join()
