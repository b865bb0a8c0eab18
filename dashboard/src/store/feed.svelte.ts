// Pulls the change feed into the world and says how fresh the world is.
import { ask, wire } from '@/api/client'
import type { ChangesPage, Problem } from '@/api/types'
import { backoff } from './events'
import { Replica } from './replica'
import { world } from './world.svelte'

const PAGE = 500
export type LinkState = 'starting' | 'live' | 'trying' | 'off'

class Feed {
  /** Whether this browser's live stream stands. Set by the stream, heard from the tab that leads. */
  streaming = $state(false)
  lastSynced = $state<number | null>(null)
  problem = $state<Problem | null>(null)
  #failures = $state(0)
  #retry: ReturnType<typeof setTimeout> | undefined
  #running: Promise<boolean> | null = null
  #again = false
  #epoch = 0

  /** Live only while the stream stands and the last page came through: what may be stale must look stale. */
  get link(): LinkState {
    if (this.#failures > 0) return 'off'
    if (this.lastSynced === null) return 'starting'
    return this.streaming ? 'live' : 'trying'
  }

  /** Brings the world up to the server's state. Calls made while one runs join it and are served by one more round. */
  sync(): Promise<boolean> {
    if (this.#running) {
      this.#again = true
      return this.#running
    }
    clearTimeout(this.#retry)
    return (this.#running = this.#rounds(this.#epoch))
  }

  /** Ends one sign-in: what is still on its way belongs to nobody any more. */
  stop() {
    this.#epoch++
    this.#running = null
    clearTimeout(this.#retry)
    this.streaming = false
    this.#failures = 0
    this.lastSynced = null
    this.problem = null
  }

  async #rounds(epoch: number): Promise<boolean> {
    let good: boolean
    do {
      this.#again = false
      good = world.ready ? await this.#deltas(epoch) : await this.#snapshot(epoch)
    } while (this.#again && good)
    if (epoch !== this.#epoch) return false
    // Cleared in the same turn as the last look at #again, so that no call falls between the two.
    this.#running = null
    this.#failures = good ? 0 : this.#failures + 1
    if (!good) this.#retry = setTimeout(() => void this.sync(), backoff(this.#failures))
    return good
  }

  async #snapshot(epoch: number): Promise<boolean> {
    let fresh = new Replica()
    let restarts = 0
    for (;;) {
      const page = await this.#page(fresh.token, epoch)
      if (page === 'resync' && restarts++ < 3) {
        fresh = new Replica()
        continue
      }
      if (!page || page === 'resync') return false
      fresh.apply(page)
      if (!page.more) break
    }
    world.take(fresh)
    return true
  }

  async #deltas(epoch: number): Promise<boolean> {
    for (;;) {
      const page = await this.#page(world.token, epoch)
      if (page === 'resync') return this.#snapshot(epoch)
      if (!page) return false
      world.deltas(page)
      if (!page.more) return true
    }
  }

  async #page(since: string | null, epoch: number): Promise<ChangesPage | 'resync' | null> {
    const query = { scope: 'agency', limit: String(PAGE), ...(since ? { since } : {}) }
    const reply = await ask(wire.GET('/v1/changes', { params: { query } }))
    if (epoch !== this.#epoch) return null
    if (reply.ok) {
      this.lastSynced = Date.now()
      this.problem = null
      return reply.data as ChangesPage
    }
    if (reply.problem.code === 'resync-required') return 'resync'
    this.problem = reply.problem
    return null
  }
}

export const feed = new Feed()
