// What acts would do, asked of the server before they are done. Nothing is worked out here.
import type { Write } from 'fullset-client'
import { wire } from '@/api/client'
import { uuid7 } from '@/api/uuid'
import type { Effects, Problem } from '@/api/types'
import { effectRows } from '@/words/effects'
import { problemTitle } from '@/words/problems'

/** So long the asking waits for the next key. */
const PAUSE_MS = 350

export class Foreshown {
  data = $state.raw<Effects | null>(null)
  problem = $state.raw<Problem | null>(null)
  busy = $state(false)
  #stop: AbortController | null = null
  #timer: ReturnType<typeof setTimeout> | undefined

  /** Asks after a short pause, so that typing asks once. */
  soon(writes: Write[]) {
    this.stop()
    this.busy = true
    this.#timer = setTimeout(() => void this.ask(writes), PAUSE_MS)
  }

  async ask(writes: Write[]): Promise<Effects | null> {
    this.#stop?.abort()
    const stop = (this.#stop = new AbortController())
    const commands = writes.map(({ kind, body, expects }) => ({
      id: uuid7(),
      kind,
      at: new Date().toISOString(),
      body,
      ...(expects === undefined ? {} : { expects }),
    }))
    this.busy = true
    const reply = await wire.any<Effects>('POST', '/v1/effects', { body: { commands }, signal: stop.signal })
    if (stop.signal.aborted) return null
    this.busy = false
    this.problem = reply.ok ? null : reply.problem
    this.data = reply.ok ? reply.data : null
    return this.data
  }

  stop() {
    clearTimeout(this.#timer)
    this.#stop?.abort()
    this.busy = false
  }
  clear() {
    this.stop()
    this.data = null
    this.problem = null
  }

  /** Whether it lets something be used, or count, that is not now: a reason is asked for then. */
  get raises(): boolean {
    return this.data?.raises ?? false
  }
  /** Whether it is refused as it stands, for want of a written reason; its effect is known all the same. */
  get asksWhy(): boolean {
    return this.data?.problem?.code === 'reason-needed'
  }
  /** What a box on the screen shows of it. */
  get box() {
    return {
      words: this.data?.words ?? null,
      rows: effectRows(this.data),
      busy: this.busy,
      trouble: this.trouble,
    }
  }
  /** Why the effect is not known, in words. */
  get trouble(): string {
    const told = this.data?.problem
    if (told && !this.asksWhy) return told.detail || told.title
    return this.problem ? problemTitle(this.problem) : ''
  }
}

/** Asks anew whenever the write changes, as long as the component is there; nothing is asked for null. */
export function foreshow(write: () => Write | null): Foreshown {
  const effects = new Foreshown()
  $effect(() => {
    const one = write()
    if (one) effects.soon([one])
    else effects.clear()
    return () => effects.stop()
  })
  return effects
}
