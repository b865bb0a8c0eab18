import { wire } from '@/api/client'
import type { Problem } from '@/api/types'

/** One read of the service. What was last shown stays while another is fetched, and when none comes. */
export class Reading<T> {
  data = $state.raw<T | null>(null)
  problem = $state.raw<Problem | null>(null)
  loading = $state(false)
  #stop: AbortController | null = null
  #again: (() => Promise<void>) | null = null

  async ask(path: string, query: Record<string, string | number | undefined> = {}) {
    this.#again = () => this.ask(path, query)
    this.#stop?.abort()
    const stop = (this.#stop = new AbortController())
    this.loading = true
    const reply = await wire.any<T>('GET', path, { params: { query }, signal: stop.signal })
    if (stop !== this.#stop) return
    this.loading = false
    this.problem = reply.ok ? null : reply.problem
    if (reply.ok) this.data = reply.data
  }
  retry = () => void this.#again?.()
  /** Forgets what was shown: it belongs to another question. */
  clear() {
    this.stop()
    this.data = null
    this.problem = null
  }
  stop() {
    this.#stop?.abort()
    this.#stop = null
    this.loading = false
  }
}
