// Pulls the change feed into the world and onto the disk, and says how fresh the world is. One tab at a time pulls; the
// others hear its pages.
import { backoff, pull, RESYNC } from 'fullset-client'
import { wire } from '@/api/client'
import type { ChangesPage, Problem } from '@/api/types'
import { Copy, type Kept } from './copy'
import { disk } from './disk'
import { COPY_GOES } from './forget'
import { Replica } from './replica'
import { world } from './world.svelte'

const LOCK = 'fullset-feed'
const PAGE = 500
const CATCH_UP_MS = 1_500
export type LinkState = 'starting' | 'live' | 'trying' | 'off'

type Note = { since: string | null; page: ChangesPage } | 'copy'

class Feed {
  /** Whether this browser's live stream stands. Set by the stream, heard from the tab that leads. */
  streaming = $state(false)
  lastSynced = $state<number | null>(null)
  problem = $state<Problem | null>(null)
  /** Called after pages came that hold what this phone had sent. */
  onNews: () => void = () => {}
  #failures = $state(0)
  #heard = $state(false)
  #copy: Copy | null = null
  #retry: ReturnType<typeof setTimeout> | undefined
  #running: Promise<boolean> | null = null
  #again = false
  #epoch = 0
  #channel: BroadcastChannel | null = null

  /** Live only while the stream stands and the last page came through: what may be stale must look stale. */
  get link(): LinkState {
    if (this.#failures > 0) return 'off'
    if (!this.#heard) return 'starting'
    return this.streaming ? 'live' : 'trying'
  }
  /** Other tabs share this tab's disk, and so its pages. */
  get shared(): boolean {
    return this.#copy?.disk.lasting ?? false
  }

  /** Opens what this phone keeps for a member and a scope. The world is ready at once when there was a copy. */
  async open(owner: string, scope: string): Promise<void> {
    const epoch = ++this.#epoch
    this.#running = null
    const copy = new Copy(await disk(), owner, scope)
    if (epoch !== this.#epoch) return
    this.#copy = copy
    this.#listen()
    try {
      await copy.look()
      if (copy.kept) await this.#load(copy.kept, epoch)
    } catch {
      // What is on the disk cannot be read: a new snapshot takes its place, the outbox stays.
      await copy.disk.write(COPY_GOES).catch(() => {})
      copy.kept = copy.building = null
    }
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

  /** The server is at this revision. A tab whose pages come from another waits a moment for them. */
  news(revision: number, leading: boolean) {
    if (revision <= world.revision) return
    if (leading || !this.shared) return void this.sync()
    const epoch = this.#epoch
    setTimeout(() => {
      if (epoch === this.#epoch && revision > world.revision) void this.sync()
    }, CATCH_UP_MS)
  }

  /** Ends one sign-in: what is still on its way belongs to nobody any more. */
  stop() {
    this.#epoch++
    this.#running = null
    this.#copy = null
    clearTimeout(this.#retry)
    this.#channel?.close()
    this.#channel = null
    this.streaming = false
    this.#failures = 0
    this.#heard = false
    this.lastSynced = null
    this.problem = null
  }

  async #rounds(epoch: number): Promise<boolean> {
    let good: boolean
    do {
      this.#again = false
      good = await this.#alone(() => this.#round(epoch)).catch(() => false)
    } while (this.#again && good)
    if (epoch !== this.#epoch) return false
    // Cleared in the same turn as the last look at #again, so that no call falls between the two.
    this.#running = null
    this.#failures = good ? 0 : this.#failures + 1
    if (!good) this.#retry = setTimeout(() => void this.sync(), backoff(this.#failures))
    return good
  }

  async #alone(work: () => Promise<boolean>): Promise<boolean> {
    return this.shared && navigator.locks ? await navigator.locks.request(LOCK, work) : work()
  }

  async #round(epoch: number): Promise<boolean> {
    const copy = this.#copy
    if (!copy || epoch !== this.#epoch) return false
    await copy.look()
    if (!copy.kept || !copy.fits) return this.#snapshot(copy, epoch)
    if (!world.ready || copy.kept.token !== world.token) {
      if (!copy.disk.lasting && !world.ready) return this.#snapshot(copy, epoch)
      await this.#load(copy.kept, epoch)
    }
    return this.#deltas(copy, epoch)
  }

  async #snapshot(copy: Copy, epoch: number): Promise<boolean> {
    let fresh = copy.building ? await copy.load(copy.building) : new Replica()
    let restarts = 0
    for (;;) {
      const page = await this.#page(copy, fresh.token, epoch)
      if (page === RESYNC && restarts++ < 3) {
        await copy.begin()
        fresh = new Replica()
        continue
      }
      if (!page || page === RESYNC) return false
      await this.#write(copy, () => copy.build(page))
      if (epoch !== this.#epoch) return false
      fresh.apply(page)
      if (!page.more) break
    }
    world.take(fresh)
    this.#tell('copy')
    this.onNews()
    return true
  }

  async #deltas(copy: Copy, epoch: number): Promise<boolean> {
    for (;;) {
      const since = world.token
      const page = await this.#page(copy, since, epoch)
      if (page === RESYNC) {
        copy.building = null
        return this.#snapshot(copy, epoch)
      }
      if (!page) return false
      await this.#write(copy, () => copy.keep(page))
      if (epoch !== this.#epoch) return false
      this.#took(since, page)
      this.#tell({ since, page })
      if (!page.more) return true
    }
  }

  /** A full or broken disk must not stop the screens: from here on this tab keeps the copy in memory. */
  async #write(copy: Copy, work: () => Promise<void>) {
    try {
      await work()
    } catch {
      await copy.retreat()
      await work()
    }
  }

  #took(since: string | null, page: ChangesPage) {
    if (since === world.token) world.deltas(page)
    this.lastSynced = Date.now()
    this.#heard = true
    if (!page.more) this.onNews()
  }

  async #page(copy: Copy, since: string | null, epoch: number): Promise<ChangesPage | typeof RESYNC | null> {
    const reply = await pull(wire, { scopes: copy.scope.split(','), since, limit: PAGE })
    if (epoch !== this.#epoch) return null
    if (reply.ok) {
      this.lastSynced = Date.now()
      this.#heard = true
      this.problem = null
      return reply.data
    }
    if (reply.problem.code === RESYNC) return RESYNC
    this.problem = reply.problem
    return null
  }

  async #load(kept: Kept, epoch: number) {
    const replica = await this.#copy?.load(kept)
    if (!replica || epoch !== this.#epoch) return
    world.take(replica)
    this.lastSynced = kept.at
  }

  #tell(note: Note) {
    this.#channel?.postMessage(note)
  }

  #listen() {
    this.#channel?.close()
    this.#channel = null
    if (!this.shared || typeof BroadcastChannel === 'undefined') return
    this.#channel = new BroadcastChannel(LOCK)
    this.#channel.onmessage = (message: MessageEvent<Note>) => {
      const note = message.data
      if (note !== 'copy' && note.since === world.token && world.ready) {
        this.#failures = 0
        return this.#took(note.since, note.page)
      }
      // This tab has missed something: it looks at the disk, under the lock, with its next round.
      void this.sync()
    }
  }
}

export const feed = new Feed()
