// The rows of a notice: as the server listed them, with what was said on this phone since.
import type { Notice, NoticeHit, NoticeMark, NoticePiece } from '@/api/types'
import { markFor } from '@/store/notices'
import { world } from '@/store/world.svelte'
import { isDone, later, names } from '@/words/notice'
import { byTag } from '@/words/order'

export type Line = Omit<NoticePiece, 'hit' | 'mark'> & {
  /** Null: only the server can say it, and it was not asked. */
  hit: NoticeHit | null
  mark: NoticeMark | null
}

/** Without the server: the pieces whose own answer on this phone names the notice. */
export function hereOnly(notice: Notice): Line[] {
  return world
    .all('piece')
    .filter((piece) => piece.state !== 'retired' && names(world.get('piece_standing', piece.id), notice))
    .map((piece) => ({
      piece: piece.id,
      tag: piece.tag,
      serial: piece.serial ?? null,
      place: piece.place,
      rig: piece.place.at === 'rig' ? piece.place.rig : null,
      hit: null,
      mark: markFor(piece, notice.id) ?? null,
      open: !isDone(markFor(piece, notice.id)),
    }))
    .toSorted(byTag)
}

/** With what stands on this phone about the piece, where that is later. */
export function asNow(notice: Notice, line: Line | NoticePiece): Line {
  const mark = later(line.mark, markFor(world.get('piece', line.piece), notice.id))
  return { ...line, mark, open: line.open && !isDone(mark) }
}
