// Safety notices and the pieces that the server's answers name them for, as far as this phone keeps both.
import type { Id, Notice, NoticeMark, Piece, PieceStanding } from '@/api/types'
import { isDone, names } from '@/words/notice'
import type { Act, How } from './act.svelte'
import { keptWords } from './outbox.svelte'
import { world } from './world.svelte'

export const noticesInForce = () => world.all('notice').filter((one) => !one.withdrawn_at)

export const markFor = (piece: Piece | undefined, notice: Id): NoticeMark | undefined =>
  piece?.notices.find((mark) => mark.notice === notice)

/** The notices in force that the answer for this piece names and that are not done with for it. */
export function noticesOn(piece: Piece, asked?: PieceStanding | null): Notice[] {
  if (piece.state === 'retired') return []
  const standing = world.get('piece_standing', piece.id) ?? asked
  return noticesInForce().filter((notice) => names(standing, notice) && !isDone(markFor(piece, notice.id)))
}

/** Pieces for which nobody has said yet whether they were found, with the notice that asks. */
export const notLookedFor = (pieces: Piece[]) =>
  noticesInForce().length
    ? pieces.flatMap((piece) =>
        noticesOn(piece)
          .filter((notice) => !markFor(piece, notice.id))
          .map((notice) => ({ piece, notice })),
      )
    : []

/** Says whether a piece was found; `done` gets what to tell. */
export function seek(
  act: Act,
  notice: Notice,
  piece: { id: Id; tag: string },
  found: boolean,
  note: string,
  done: (words: string) => void,
  photos: string[] = [],
) {
  const text = note.trim()
  const body = { id: notice.id, piece: piece.id, found, ...(text ? { note: text } : {}), photos }
  const what = `${piece.tag} ${found ? 'found' : 'not found'} for notice ${notice.number}`
  const words = (how: How) =>
    how === 'kept'
      ? `${piece.tag}: ${keptWords}`
      : found
        ? `${piece.tag} is found. What the notice asks is still to be done.`
        : `${piece.tag} was not found. It stays open until somebody finds it.`
  return act.run(what, [{ kind: 'notice.seek', body }], (_, how) => done(words(how)), { photos })
}
