// What a piece hangs on in its rig, read out of the server's answer; nothing is worked out here.
import type { Capability, Id, Piece } from '@/api/types'

export interface Hangs {
  /** What feeds it. A source without a hose is a pack; an empty one is its own pack. */
  from: { source: Id; hose: Id | null } | null
  /** What it feeds. */
  feeds: Id[]
}

export function hangsOn(piece: Pick<Piece, 'id'>, capability: Capability | undefined): Hangs {
  const hangs: Hangs = { from: null, feeds: [] }
  for (const { piece: filled, via } of capability?.fillings ?? []) {
    if (!filled || !via) continue
    if ('hose' in via) {
      if (filled === piece.id) hangs.from = { source: via.source, hose: via.hose }
      else if (via.source === piece.id || via.hose === piece.id) hangs.feeds.push(filled)
    } else if (filled === piece.id) hangs.from = { source: via.battery ?? '', hose: null }
    else if (via.battery === piece.id) hangs.feeds.push(filled)
  }
  return hangs
}
