// What a piece hangs on in its rig, read out of the server's answer; nothing is worked out here.
import type { Id, Piece, RigStanding, Via } from '@/api/types'

export interface Hangs {
  /** What drives it. */
  from: Via | null
  /** What it feeds, or is part of the line to. */
  feeds: Id[]
}

export function hangsOn(
  piece: Pick<Piece, 'id'>,
  standing: Pick<RigStanding, 'needs' | 'fillings'> | undefined,
): Hangs {
  const hangs: Hangs = { from: null, feeds: [] }
  const driven = [
    ...(standing?.needs ?? []).flatMap((need) => need.pieces),
    ...(standing?.fillings ?? []).map(({ piece, via }) => ({ piece, via })),
  ]
  for (const { piece: tool, via } of driven) {
    if (!tool || !via) continue
    if (tool === piece.id) hangs.from ??= via
    const line = via.by === 'line' ? [via.source, ...via.parts] : via.by === 'pack' ? [via.pack] : []
    if (line.includes(piece.id) && !hangs.feeds.includes(tool)) hangs.feeds.push(tool)
  }
  return hangs
}
