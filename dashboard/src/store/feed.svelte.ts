// Pulls the change feed into the world and onto the disk, and says how fresh the world is. One tab at a time pulls; the
// others hear its pages.
import { backoff, SCOPE_GONE } from 'fullset-client'
import { wire } from '@/api/client'
import type { ChangesPage, Problem } from '@/api/types'
import { catchUp } from './catchup'
import { Copy, type Kept } from './copy'
import { disk } from './disk'
import { COPY_GOES } from './forget'
import { world } from './world.svelte'

const LOCK = 'fullset-feed'
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
  onScopeGone: () => void = () => {}
  #failures = $state(0)
  /** The server asked for so much patience, milliseconds. */
  #pause = 0
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
    if (!good)
      this.#retry = setTimeout(() => void this.sync(), Math.max(this.#pause, backoff(this.#failures)))
    return good
  }

  async #alone(work: () => Promise<boolean>): Promise<boolean> {
    return this.shared && navigator.locks ? await navigator.locks.request(LOCK, work) : work()
  }

  async #round(epoch: number): Promise<boolean> {
    const copy = this.#copy
    const wanted = () => epoch === this.#epoch
    if (!copy || !wanted()) return false
    await copy.look()
    if (copy.kept && copy.fits && (!world.ready || copy.kept.token !== world.token)) {
      // Another tab has moved it on. In memory there is no other tab, only a world that was forgotten.
      if (copy.disk.lasting) await this.#load(copy.kept, epoch)
      else copy.kept = null
    }
    const problem = await catchUp(copy, wire, {
      wanted,
      page: (since, page) => {
        this.#took(since, page)
        this.#tell({ since, page })
      },
      snapshot: (replica) => {
        world.take(replica)
        this.#came()
        this.#tell('copy')
        this.onNews()
      },
    })
    if (!wanted()) return false
    this.problem = problem
    if (problem?.code === SCOPE_GONE) setTimeout(() => this.onScopeGone())
    this.#pause = (problem?.retry_after ?? 0) * 1000
    return !problem
  }

  #took(since: string | null, page: ChangesPage) {
    if (since === world.token) world.deltas(page)
    this.#came()
    if (!page.more) this.onNews()
  }

  #came() {
    this.lastSynced = Date.now()
    this.#heard = true
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
