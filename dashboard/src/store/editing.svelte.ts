// A form that adds or changes one record: what it would do to the board, a reason where one is asked for, and how it is sent.
import type { Write } from 'fullset-client'
import { notices } from '@/ui/notice.svelte'
import { faultsOf, type Faults } from '@/words/faults'
import { Act } from './act.svelte'
import { Foreshown } from './effects.svelte'
import { keptWords } from './outbox.svelte'

export interface Edited {
  /** What is sent, with the reason where one was given; null while nothing is to be sent. */
  write: (why: { reason?: string }) => Write | null
  /** What the act is called in the outbox, and what is said when it is done. */
  act: () => string
  done: () => string
  /** A name that changes no answer needs no look at the board. */
  quiet?: () => boolean
  /** The server's words at a field as soon as it has looked, not only when it was sent. */
  early?: boolean
  /** What is offered beside what is said when it is done. */
  undo?: () => { label: string; run: () => void } | undefined
  onclose: () => void
}

export class Editing {
  readonly act = new Act()
  readonly effects = new Foreshown()
  reason = $state('')
  readonly #of: Edited
  readonly sent = $derived.by(() => this.#of.write(this.reason.trim() ? { reason: this.reason.trim() } : {}))
  readonly shows = $derived.by(() => this.sent !== null && !this.#of.quiet?.())
  readonly asked = $derived.by(
    () => this.effects.asksWhy || this.act.problem?.code === 'reason-needed' || this.reason !== '',
  )
  readonly faults: Faults = $derived.by(() => ({
    ...(this.#of.early && !this.effects.asksWhy ? faultsOf(this.effects.data?.problem) : {}),
    ...faultsOf(this.act.problem),
  }))

  /** Made while its component is: it asks anew whenever the write changes. */
  constructor(of: Edited) {
    this.#of = of
    $effect(() => {
      if (this.sent && this.shows) this.effects.soon([this.sent])
      else this.effects.clear()
      return () => this.effects.stop()
    })
  }

  send = async (event: SubmitEvent) => {
    event.preventDefault()
    if (!this.sent || (this.asked && !this.reason.trim())) return
    const words = this.#of.done()
    await this.act.run(this.#of.act(), [this.sent], (_, how) => {
      const undo = how === 'sent' ? this.#of.undo?.() : undefined
      this.#of.onclose()
      notices.say(how === 'kept' ? keptWords : words, undo)
    })
  }
}
