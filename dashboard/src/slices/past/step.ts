// The change of the board before or after a revision. The service lists changes newest first, so the one after is looked
// for in windows that grow until they hold one, and shrink again while they hold more than one answer can.
import { wire } from '@/api/client'
import type { BoardChanges, Problem } from '@/api/types'

const DAY = 86_400_000
const WINDOWS = [1, 7, 31, 366, 36_600]

export type Step = { revision: number } | { none: true } | { problem: Problem }
export type Ask = (query: Record<string, string>) => Promise<BoardChanges | Problem>
const isProblem = (answer: BoardChanges | Problem): answer is Problem => 'code' in answer

export const askChanges =
  (district: string, signal: AbortSignal): Ask =>
  async (query) => {
    const reply = await wire.any<BoardChanges>('GET', '/v1/board/changes', {
      params: { query: { ...query, district: district || undefined } },
      signal,
    })
    return reply.ok ? reply.data : reply.problem
  }

/** The newest change that an earlier revision than this one made. `at` is kept as it came: the service counts in microseconds. */
export async function changeBefore(ask: Ask, at: string, revision: number): Promise<Step> {
  for (const days of WINDOWS) {
    const from = new Date(Math.max(0, Date.parse(at) - days * DAY)).toISOString()
    const answer = await ask({ at: from, until: at })
    if (isProblem(answer)) return { problem: answer }
    const earlier = answer.items.map((c) => c.revision).filter((r) => r < revision)
    if (earlier.length) return { revision: Math.max(...earlier) }
  }
  return { none: true }
}

/** The oldest change that a later revision than this one made. */
export async function changeAfter(ask: Ask, at: string, revision: number, now: Date): Promise<Step> {
  const start = Date.parse(at)
  for (const days of WINDOWS) {
    let until = Math.min(start + days * DAY, now.getTime())
    // Before the first record there is no revision to begin at.
    const from: Record<string, string> = revision ? { revision: String(revision) } : { at }
    let answer = await ask({ ...from, until: new Date(until).toISOString() })
    while (!isProblem(answer) && answer.more && until - start > 60_000) {
      until = start + (until - start) / 2
      answer = await ask({ ...from, until: new Date(until).toISOString() })
    }
    if (isProblem(answer)) return { problem: answer }
    const later = answer.items.map((c) => c.revision).filter((r) => r > revision)
    if (later.length) return { revision: Math.min(...later) }
    if (start + days * DAY >= now.getTime()) break
  }
  return { none: true }
}
