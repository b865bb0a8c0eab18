import { wire } from '@/api/client'
import type { Problem } from '@/api/types'

/** The id of the piece with exactly this tag, as the server knows it. */
export async function askTag(tag: string): Promise<{ id: string | null; problem: Problem | null }> {
  const reply = await wire.GET('/v1/pieces', { params: { query: { q: tag, limit: 50 } } })
  if (!reply.ok) return { id: null, problem: reply.problem }
  return {
    id: reply.data.items.find((one) => one.tag.toLowerCase() === tag.trim().toLowerCase())?.id ?? null,
    problem: null,
  }
}
