// A read that no record carries. What came last stays on the screen while it is asked again, and when no answer comes.
import { wire } from '@/api/client'
import type { Problem } from '@/api/types'

export class Asked<T> {
  data = $state.raw<T | null>(null)
  problem = $state.raw<Problem | null>(null)
  busy = $state(false)
  #stop: AbortController | null = null

  /** Asks; a question still on its way is dropped. */
  async look(path: string, query: Record<string, string | number | null | undefined> = {}) {
    this.#stop?.abort()
    const stop = (this.#stop = new AbortController())
    const kept = Object.fromEntries(Object.entries(query).filter(([, value]) => value !== ''))
    this.busy = true
    const reply = await wire.any<T>('GET', path, { params: { query: kept }, signal: stop.signal })
    if (stop.signal.aborted) return
    this.busy = false
    this.problem = reply.ok ? null : reply.problem
    if (reply.ok) this.data = reply.data
  }

  stop() {
    this.#stop?.abort()
    this.busy = false
  }
}
