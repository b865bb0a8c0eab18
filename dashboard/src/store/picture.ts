// The hook-up picture of a rig, from what the world knows of its pieces.
import type { Id, Piece, Rig, RigStanding } from '@/api/types'
import type { PictureModel } from '@/ui/picture/parts'
import { dutyWord } from '@/words/duty'
import { dayWords } from '@/words/time'
import { drawn, type Known } from './hookup'
import { openDefects, openTicket, slotsOf, whereWords } from './look'
import { pieceMark, stopped } from './seen.svelte'
import { world } from './world.svelte'

/** Where a piece is that is not where it belongs, and when it is expected, as far as somebody has said. */
function whereabouts(piece: Piece): { where: string; when?: string } {
  if (piece.state === 'missing') return { where: 'Missing' }
  const { place } = piece
  if (place.at === 'transit' && place.to.at === 'rig') return { where: 'On its way', when: 'not arrived yet' }
  const due =
    place.at === 'vendor' || place.at === 'loan' ? place.due_on : (openTicket(piece.id)?.ready_on ?? null)
  const where = whereWords('due_on' in place ? { ...place, due_on: null } : place)
  if (due) return { where, when: `due ${dayWords(due)}` }
  return place.at === 'shop' || place.at === 'vendor' ? { where, when: 'no date given' } : { where }
}
export function whereaboutsWords(piece: Piece): string {
  const { where, when } = whereabouts(piece)
  return when ? `${where}, ${when}` : where
}

const known: Known = {
  piece: (id) => world.get('piece', id),
  model: (id) => world.get('model', id),
  trouble(piece) {
    if (stopped(piece))
      return {
        state: 'out',
        mark:
          piece.state === 'out_of_service'
            ? { shape: 'barred', tone: 'stop', word: 'Out of service' }
            : pieceMark(piece),
      }
    const count = openDefects(piece.id).length
    if (!count) return undefined
    const word = count === 1 ? 'Open defect' : `${count} open defects`
    return { state: 'limit', mark: { shape: 'notched', tone: 'weak', word } }
  },
  whereabouts,
  unconfirmed: (id) => world.get('piece_standing', id)?.verdict === 'cannot_be_confirmed',
}

/** Its own pieces, wherever they are, and those that are aboard or on their way to it. */
function piecesOf(rig: Id): Piece[] {
  const aboard =
    world.group('piece', 'rig', (p) => (p.place.at === 'rig' ? p.place.rig : null)).get(rig) ?? []
  const own = world.group('piece', 'home', (p) => (p.home?.at === 'rig' ? p.home.rig : null)).get(rig) ?? []
  const coming =
    world
      .group('piece', 'coming', (p) =>
        p.place.at === 'transit' && p.place.to.at === 'rig' ? p.place.to.rig : null,
      )
      .get(rig) ?? []
  return [...new Set([...aboard, ...own, ...coming])]
}

/** Why a rig is struck through as a whole; empty for one that is on the front line. */
export function struckWords(rig: Rig): string {
  if (!rig.in_service) return 'Rig out of service'
  return rig.duty === 'front_line' ? '' : dutyWord(rig.duty)
}

/** Who sat where when a rig was drawn last: as long as the app is open, a piece that leaves for good moves no other. */
const seated = new Map<Id, ReadonlyMap<string, Id>>()
const NOBODY: ReadonlyMap<string, Id> = new Map()
export const seatedOn = (rig: Id) => seated.get(rig) ?? NOBODY

/** `fresh` points out on the picture what just changed. */
export function pictureOf(
  rig: Rig | undefined,
  standing: RigStanding | undefined,
  fresh = false,
): PictureModel {
  if (!rig) return { seats: [], joins: [] }
  const { model, at } = drawn(
    {
      rig: rig.id,
      slots: slotsOf(rig),
      answer: standing,
      pieces: piecesOf(rig.id),
      swaps: world.group('swap', 'rig', (swap) => swap.rig).get(rig.id) ?? [],
      before: seated.get(rig.id),
      struck: struckWords(rig),
    },
    { ...known, fresh: (id) => (fresh ? world.fresh.get(`piece/${id}`) : undefined) },
  )
  if (standing) seated.set(rig.id, at)
  return model
}
