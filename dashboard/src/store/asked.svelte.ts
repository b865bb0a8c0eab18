// A read that no record carries. What came last stays on the screen while it is asked again, and when no answer comes.
import type { Reply } from 'fullset-client'
import { wire } from '@/api/client'
import type { Problem } from '@/api/types'

/** How often a question is asked again by itself, and the longest that it waits for that, in seconds. */
const AGAIN = 5
const LONGEST = 10
const pause = (seconds: number) => new Promise((go) => setTimeout(go, seconds * 1000))

/** Asks, and asks again where much that this sign-in asked for is still on its way: nobody need press a button for that. */
export async function patiently<T>(signal: AbortSignal, ask: () => Promise<Reply<T>>): Promise<Reply<T>> {
  let reply = await ask()
  for (let left = AGAIN; left && !reply.ok && !signal.aborted; left--) {
    const { status, retry_after = 0 } = reply.problem
    if (status !== 429 || !retry_after || retry_after > LONGEST) break
    await pause(retry_after)
    if (!signal.aborted) reply = await ask()
  }
  return reply
}

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
    const { signal } = stop
    const reply = await patiently(signal, () => wire.any<T>('GET', path, { params: { query: kept }, signal }))
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
