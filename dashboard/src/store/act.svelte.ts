// One act of a person on a screen: sent, kept on this phone, refused, or in conflict with both sides to choose from.
import type { Write } from 'fullset-client'
import type { AnyRecord, Answer, Problem } from '@/api/types'
import { problemWords } from '@/words/problems'
import { decide, withdraw } from './decide'
import { outbox, type Item, type PutOptions } from './outbox.svelte'
import { session } from './session.svelte'
import { signing } from './signing.svelte'
import { standsNow } from './stands'

export type Sent =
  | { outcome: 'applied'; revision: number | undefined; records: NonNullable<Answer['records']> }
  | { outcome: 'kept' }
export type How = 'sent' | 'kept'
export interface ActOptions extends PutOptions {
  /** Does not wait for the answer: kept at once, sent meanwhile. */
  quick?: boolean
}

/** So long a person looks at "Sending"; after that it is kept and goes by itself. */
const PATIENCE_MS = 6_000

export class Act {
  busy = $state(false)
  problem = $state<Problem | null>(null)
  current = $state<AnyRecord | null>(null)
  /** Why it is a conflict, as the server said it. */
  because = $state.raw<Problem | null>(null)
  /** The last act waits on this phone. */
  kept = $state(false)
  #mine = $state('')
  #items: Item[] = []
  #done: (sent: Sent[], how: How) => void = () => {}

  get shown() {
    return this.problem ? problemWords(this.problem) : null
  }
  get conflict() {
    if (!this.current) return null
    return {
      mine: this.#mine,
      theirs: standsNow(this.current),
      again: () => void this.#again(),
      leave: () => void this.#leave(),
    }
  }

  clear() {
    this.problem = null
    this.current = null
    this.because = null
    this.kept = false
  }

  async run(
    mine: string,
    writes: Write[],
    done: (sent: Sent[], how: How) => void = () => {},
    options: ActOptions = {},
  ): Promise<How | false> {
    if (this.busy) return false
    this.busy = true
    // A conflict that was left open and is now done another way.
    await this.#leave()
    this.#mine = mine
    this.#done = done
    try {
      let { signer } = options
      if (session.device && !signer) {
        signer = (await signing.ask(mine)) ?? undefined
        if (!signer) return false
      }
      this.#items = await outbox.put(mine, writes, { photos: options.photos, signer })
      return await this.#settle(options.quick ? 0 : PATIENCE_MS)
    } catch (fault) {
      this.problem = asProblem(fault)
      return false
    } finally {
      this.busy = false
    }
  }

  async #settle(patience: number): Promise<How | false> {
    const items = await outbox.settle(this.#items, patience)
    this.#items = items
    const conflict = items.find((i) => i.state === 'conflict')
    if (conflict) {
      this.current = conflict.current ?? { id: '', rev: 0 }
      this.because = conflict.problem ?? null
      return false
    }
    const refused = items.find((i) => i.state === 'refused')
    if (refused) {
      // The person sees it here and now: it need not come back from the outbox.
      this.problem = refused.problem ?? null
      await withdraw(refused, true)
      return false
    }
    const kept = items.some((i) => i.state === 'waiting')
    this.kept = kept
    const how = kept ? 'kept' : 'sent'
    this.#done(items.map(sent), how)
    return how
  }

  /** The same decision, now made on the state that stands. */
  async #again() {
    const conflict = this.#items.find((i) => i.state === 'conflict')
    if (!conflict || this.busy) return
    this.busy = true
    this.clear()
    try {
      await decide(conflict, 'mine')
      await this.#settle(PATIENCE_MS)
    } finally {
      this.busy = false
    }
  }

  async #leave() {
    const conflict = this.current && this.#items.find((i) => i.state === 'conflict')
    this.clear()
    if (conflict) await decide(conflict, 'theirs')
  }
}

const sent = (item: Item): Sent =>
  item.state === 'sent'
    ? { outcome: 'applied', revision: item.revision, records: item.records ?? [] }
    : { outcome: 'kept' }

function asProblem(fault: unknown): Problem {
  if (fault && typeof fault === 'object' && 'code' in fault) return fault as Problem
  return {
    code: 'not-kept',
    title: 'This phone could not keep it',
    status: 0,
    hint: 'Free some space, then try again.',
  }
}
