// A question to the server whose last answer stays on the screen: a newer question stops the one before it, so the last answer
// that was asked for wins, and a lost line takes nothing away.
import type { Reply } from 'fullset-client'
import type { Problem } from '@/api/types'
import { patiently } from '@/store/asked.svelte'

export class Asked<T> {
  data = $state.raw<T | null>(null)
  problem = $state.raw<Problem | null>(null)
  busy = $state(false)
  #going: AbortController | null = null

  async ask(send: (signal: AbortSignal) => Promise<Reply<T>>) {
    this.#going?.abort()
    const going = new AbortController()
    this.#going = going
    this.busy = true
    const reply = await patiently(going.signal, () => send(going.signal))
    if (this.#going !== going) return
    this.#going = null
    this.busy = false
    if (reply.ok) this.data = reply.data
    this.problem = reply.ok ? null : reply.problem
  }

  stop() {
    this.#going?.abort()
    this.#going = null
    this.busy = false
  }
}
