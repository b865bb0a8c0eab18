// Several acts of one person that stand for themselves: each is sent by itself, and each says what came of it.
import type { Write } from 'fullset-client'
import { problemWords } from '@/words/problems'
import { Act } from './act.svelte'
import { session } from './session.svelte'
import { signing } from './signing.svelte'

export interface One {
  key: string
  /** What it is called here, and in the outbox where that says no more. */
  words: string
  act?: string
  write: Write
}
export interface Row {
  key: string
  words: string
  state: 'waiting' | 'sending' | 'done' | 'kept' | 'refused'
  /** Why it was refused, and what to do. */
  why: string
}

export class Many {
  rows = $state.raw<Row[]>([])
  busy = $state(false)
  readonly done = $derived(this.rows.filter((one) => one.state === 'done' || one.state === 'kept').length)
  readonly refused = $derived(this.rows.filter((one) => one.state === 'refused').length)
  readonly kept = $derived(this.rows.some((one) => one.state === 'kept'))

  clear() {
    if (!this.busy) this.rows = []
  }

  /** Sends them one after the other; answers the keys of those that were sent or are kept on this phone. */
  async run(all: One[]): Promise<string[]> {
    if (this.busy || !all.length) return []
    let signer
    if (session.device) {
      signer = (await signing.ask(`${all.length} acts`)) ?? undefined
      if (!signer) return []
    }
    this.busy = true
    this.rows = all.map(({ key, words }) => ({ key, words, state: 'waiting', why: '' }))
    const through: string[] = []
    // Without a signal nobody waits for each of them.
    let quick = false
    try {
      for (const { key, words, act: named, write } of all) {
        this.#set(key, 'sending')
        const act = new Act()
        const how = await act.run(named ?? words, [write], () => {}, { signer, quick })
        if (how) {
          quick ||= how === 'kept'
          through.push(key)
          this.#set(key, how === 'kept' ? 'kept' : 'done')
          continue
        }
        const said = act.problem ? problemWords(act.problem) : null
        act.conflict?.leave()
        this.#set(
          key,
          'refused',
          said ? `${said.title} ${said.todo}`.trim() : 'It changed after you looked; look again.',
        )
      }
    } finally {
      this.busy = false
    }
    return through
  }

  #set(key: string, state: Row['state'], why = '') {
    this.rows = this.rows.map((one) => (one.key === key ? { ...one, state, why } : one))
  }
}
