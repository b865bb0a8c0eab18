// One decision about many records: each is sent by itself and says what came of it, and one undo takes all of it back.
import type { Write } from 'fullset-client'
import { notices } from '@/ui/notice.svelte'
import { Foreshown } from './effects.svelte'
import { Many, type One } from './many.svelte'
import { keptWords } from './outbox.svelte'
import { takeBack } from './undo'

/** The server works out the effect of so many at once. */
const MOST_SHOWN = 20

export interface BulkOf<T extends { id: string }> {
  /** The records as they were when the dialog opened. */
  of: T[]
  name: (one: T) => string
  /** What is sent for one of them; null where nothing is to be done with it. */
  write: (one: T) => Write | null
  /** What one act is called in the outbox, and what is said of all of them. */
  act: (one: T) => string
  done: (n: number) => string
  /** What takes one back, asked when somebody wants that; none: nothing takes it back. */
  undo?: (one: T) => Write | null
  undone?: (n: number) => string
  /** Those that went through. */
  ondone: (ids: string[]) => void
  onclose: () => void
}

export class Bulk<T extends { id: string }> {
  readonly many = new Many()
  readonly effects = new Foreshown()
  readonly #of: BulkOf<T>
  left = $state.raw<T[]>([])
  readonly writes = $derived.by(() =>
    this.left.flatMap((one) => {
      const write = this.#of.write(one)
      return write ? [{ one, write }] : []
    }),
  )
  /** Whether what it does to the board can be shown before it is sent. */
  readonly shows = $derived(this.writes.length > 0 && this.writes.length <= MOST_SHOWN)
  readonly most = MOST_SHOWN

  /** Made while its component is: it asks anew whenever the writes change. */
  constructor(of: BulkOf<T>) {
    this.#of = of
    this.left = of.of
    $effect(() => {
      if (this.shows && !this.many.busy) this.effects.soon(this.writes.map(({ write }) => write))
      else this.effects.clear()
      return () => this.effects.stop()
    })
  }

  send = async (event: SubmitEvent) => {
    event.preventDefault()
    const { name, act, done, ondone, onclose } = this.#of
    const acts: One[] = this.writes.map(({ one, write }) => ({
      key: one.id,
      words: name(one),
      act: act(one),
      write,
    }))
    if (this.many.busy || !acts.length) return
    const went = this.left.filter(({ id }) => acts.some((sent) => sent.key === id))
    const through = new Set(await this.many.run(acts))
    if (!through.size) return
    const gone = went.filter((one) => through.has(one.id))
    this.left = this.left.filter((one) => !through.has(one.id))
    ondone([...through])
    const words = this.many.kept ? keptWords : done(gone.length)
    if (!this.many.refused) onclose()
    notices.say(words, this.#back(gone))
  }

  #back(gone: T[]): { label: string; run: () => void } | undefined {
    if (this.many.kept) return takeBack(...gone.map((one) => one.id))
    return this.#of.undo ? { label: 'Undo', run: () => void this.#undo(gone) } : undefined
  }
  async #undo(gone: T[]) {
    const { undo, undone, name, act } = this.#of
    const back = new Many()
    const through = await back.run(
      gone.flatMap((one) => {
        const write = undo?.(one)
        return write ? [{ key: one.id, words: name(one), act: `Undo: ${act(one)}`, write }] : []
      }),
    )
    const first = back.rows.find((row) => row.state === 'refused')
    const words = back.kept ? keptWords : (undone?.(through.length) ?? '')
    const rest = gone.length - through.length
    notices.say(
      rest ? `${words} ${rest} not${first ? `, first ${first.words}: ${first.why}` : '.'}`.trim() : words,
    )
  }
}
