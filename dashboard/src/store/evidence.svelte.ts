// The form of a release while somebody fills it: what is asked for, what was answered, what is still open. Where the server has
// not said beforehand what it needs, what it finds missing becomes the form.
import type { Evidence } from 'fullset-client'
import type { Needed, Problem } from '@/api/types'
import {
  asksOf,
  asksOfMissing,
  faultOf,
  faultsOf,
  needsPaper,
  readingsOf,
  unanswered,
  type Answers,
  type Ask,
  type Missing,
} from '@/words/release'
import { session } from './session.svelte'

export class EvidenceForm {
  answers = $state.raw<Answers>({})
  manual = $state('')
  /** The paper of the maker's service: the company, its number, its day. */
  paper = $state({ by: '', reference: '', on: '' })
  note = $state('')
  #needed = $state.raw<Needed | null>(null)
  #missing = $state.raw<Missing[]>([])

  /** What is asked for, as the server says it. */
  need(needed: Needed | null) {
    if (needed !== this.#needed) this.#needed = needed
  }
  /** What the server found missing; it stays asked for once it was. */
  take(problem: Problem | null | undefined) {
    const found = (problem as { missing?: Missing[] } | null | undefined)?.missing ?? []
    const key = (one: Missing) => `${one.what}/${one.measure ?? ''}`
    const known = new Set(this.#missing.map(key))
    const more = found.filter((one) => !known.has(key(one)))
    if (more.length) this.#missing = [...this.#missing, ...more]
  }

  get asks(): Ask[] {
    const asks = this.#needed ? asksOf(this.#needed, session.units) : []
    const more = asksOfMissing(this.#missing, session.units)
    return [...asks, ...more.filter((one) => !asks.some((ask) => ask.key === one.key))]
  }
  get wantsManual(): boolean {
    return Boolean(this.#needed?.manual) || this.#missing.some((one) => one.what === 'manual')
  }
  get wantsPaper(): boolean {
    return (
      (this.#needed !== null && needsPaper(this.#needed)) ||
      this.#missing.some((one) => one.what === 'makers_service')
    )
  }
  get #whole(): boolean {
    return Boolean(this.paper.by.trim() && this.paper.reference.trim() && this.paper.on)
  }
  /** What nobody has answered yet, by name. */
  get open(): string[] {
    return [
      ...unanswered(this.asks, this.answers),
      ...(this.wantsManual && !this.manual.trim() ? ['The manual and its passage'] : []),
      ...(this.wantsPaper && !this.#whole
        ? ['The paper of the maker’s service: company, number and date']
        : []),
    ]
  }
  /** What is wrong with one answer, before it is sent. */
  faultOf(key: string): string {
    const ask = this.asks.find((one) => one.key === key)
    return ask ? faultOf(ask, this.answers[key]) : ''
  }
  /** Every answer that fails, in words. */
  get faults(): string[] {
    return faultsOf(this.asks, this.answers)
  }
  get evidence(): Evidence {
    return {
      readings: readingsOf(this.asks, this.answers),
      ...(this.manual.trim() ? { manual: this.manual.trim() } : {}),
      ...(this.#whole
        ? {
            makers_service: {
              by: this.paper.by.trim(),
              reference: this.paper.reference.trim(),
              on: this.paper.on,
            },
          }
        : {}),
      ...(this.note.trim() ? { note: this.note.trim() } : {}),
    }
  }
}
