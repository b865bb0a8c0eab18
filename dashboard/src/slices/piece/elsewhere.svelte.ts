// A piece that is not in this phone's data, as the server answers for it while there is signal.
import { wire } from '@/api/client'
import type { Defect, Piece, PieceStanding, Problem } from '@/api/types'

export class Elsewhere {
  piece = $state.raw<Piece | null>(null)
  defects = $state.raw<Defect[]>([])
  standing = $state.raw<PieceStanding | null>(null)
  problem = $state.raw<Problem | null>(null)
  asking = $state(false)

  async fetch(id: string) {
    this.asking = true
    this.problem = null
    const [piece, defects, standing] = await Promise.all([
      wire.any<Piece>('GET', `/v1/pieces/${id}`),
      wire.any<{ items: Defect[] }>('GET', '/v1/defects', { params: { query: { parent: id } } }),
      wire.any<PieceStanding>('GET', `/v1/piece-standings/${id}`),
    ])
    this.asking = false
    if (piece.ok) this.piece = piece.data
    else this.problem = piece.problem
    if (standing.ok) this.standing = standing.data
    if (defects.ok) this.defects = defects.data.items
  }
}

/** The id of the piece with exactly this tag, as the server knows it. */
export async function askTag(tag: string): Promise<{ id: string | null; problem: Problem | null }> {
  const reply = await wire.GET('/v1/pieces', { params: { query: { q: tag, limit: 50 } } })
  if (!reply.ok) return { id: null, problem: reply.problem }
  return {
    id: reply.data.items.find((one) => one.tag.toLowerCase() === tag.trim().toLowerCase())?.id ?? null,
    problem: null,
  }
}
