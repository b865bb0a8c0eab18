// The change feed, page by page. The caller keeps a page's records and its token together, then asks for the next page.
import type { Client, Reply } from './http'
import type { ChangesPage, Problem } from './types'

export interface From {
  /** `agency`, `district:ID`, `station:ID`, `rig:ID`, `shop:ID`; none means the agency. */
  scopes?: string[]
  /** The token of the last page that was kept; none asks for a snapshot. */
  since?: string | null
  limit?: number
  /** Where nothing has changed: seconds to wait for it, up to 60. */
  wait?: number
}

/** A page that takes longer is asked for again; a dead line must not hold everything up. */
const PATIENCE_MS = 60_000

/** The token is of no use any more: forget the records, start without one. */
export const RESYNC = 'resync-required'
/** A place of the scope is not there: leave it out, or let a person choose another. */
export const SCOPE_GONE = 'scope-gone'

export function pull(client: Client, from: From): Promise<Reply<ChangesPage>> {
  const scope = from.scopes?.length ? from.scopes.join(',') : 'agency'
  const query = {
    scope,
    since: from.since ?? undefined,
    limit: from.limit ?? 500,
    wait: from.wait,
  }
  const signal = AbortSignal.timeout(PATIENCE_MS + (from.wait ?? 0) * 1000)
  return client.any<ChangesPage>('GET', '/v1/changes', { params: { query }, signal })
}

/** A problem of the feed, thrown by `follow`; its code is `RESYNC` when a new snapshot is needed. */
export class FeedProblem extends Error {
  constructor(readonly problem: Problem) {
    super(problem.title)
  }
}

/** Yields every page there is now; the token moves on only after the caller has taken the page. */
export async function* follow(client: Client, from: From): AsyncGenerator<ChangesPage> {
  for (let since = from.since ?? null; ;) {
    const reply = await pull(client, { ...from, since })
    if (!reply.ok) throw new FeedProblem(reply.problem)
    yield reply.data
    if (!reply.data.more) return
    since = reply.data.next
  }
}
