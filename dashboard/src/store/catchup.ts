// Follows the feed to its end and keeps every page: changes where there is a copy to go on from, a snapshot otherwise.
import { pull, RESYNC, type Client } from 'fullset-client'
import type { ChangesPage, Problem } from '@/api/types'
import type { Copy } from './copy'
import { Replica } from './replica'

const PAGE = 500
const RESTARTS = 3

export interface Watcher {
  /** Whether anybody still waits for this; false stops it without a word. */
  wanted(): boolean
  /** A page of changes was kept. */
  page(since: string | null, page: ChangesPage): void
  /** A snapshot is complete and has taken the place of the copy. */
  snapshot(replica: Replica): void
}
const STOPPED: Problem = { code: 'stopped', title: 'Stopped', status: 0 }

/** Null when the end was reached. `copy.look()` comes first. */
export async function catchUp(copy: Copy, client: Client, to: Watcher): Promise<Problem | null> {
  // A snapshot that was begun is what the server asked for; the old token would only be refused again.
  return copy.fits && !copy.building ? changes(copy, client, to) : snapshot(copy, client, to)
}

async function changes(copy: Copy, client: Client, to: Watcher): Promise<Problem | null> {
  for (;;) {
    const since = copy.kept?.token ?? null
    const reply = await next(copy, client, since)
    if (!to.wanted()) return STOPPED
    if (!reply.ok && reply.problem.code === RESYNC) {
      copy.building = null
      return snapshot(copy, client, to)
    }
    if (!reply.ok) return reply.problem
    await kept(copy, () => copy.keep(reply.data))
    if (!to.wanted()) return STOPPED
    to.page(since, reply.data)
    if (!reply.data.more) return null
  }
}

/** Goes on with a snapshot that broke off earlier, when its token still counts. */
async function snapshot(copy: Copy, client: Client, to: Watcher): Promise<Problem | null> {
  let fresh = copy.building ? await copy.load(copy.building) : new Replica()
  for (let restarts = 0; ;) {
    const reply = await next(copy, client, fresh.token)
    if (!to.wanted()) return STOPPED
    if (!reply.ok && reply.problem.code === RESYNC && restarts++ < RESTARTS) {
      await copy.begin()
      fresh = new Replica()
      continue
    }
    if (!reply.ok) return reply.problem
    await kept(copy, () => copy.build(reply.data))
    if (!to.wanted()) return STOPPED
    fresh.apply(reply.data)
    if (reply.data.more) continue
    to.snapshot(fresh)
    return null
  }
}

const next = (copy: Copy, client: Client, since: string | null) =>
  pull(client, { scopes: copy.scope.split(','), since, limit: PAGE })

/** A full or broken disk must not stop the screens: from here on this tab keeps the copy in memory. */
async function kept(copy: Copy, work: () => Promise<void>) {
  try {
    await work()
  } catch {
    await copy.retreat()
    await work()
  }
}
