import { wire } from '@/api/client'
import type { HistoryItem, Problem } from '@/api/types'

type Noun = 'rigs' | 'rig-standings' | 'pieces' | 'checks' | 'operating-cards'
/** The journal of one record, newest first, in pages. */
export class History {
  items = $state.raw<HistoryItem[]>([])
  next = $state<string | null>(null)
  problem = $state<Problem | null>(null)
  loading = $state(true)
  #noun: Noun
  #id: string
  #run = 0

  constructor(noun: Noun, id: string) {
    this.#noun = noun
    this.#id = id
  }

  async load(more = false) {
    const run = ++this.#run
    const query = more && this.next !== null ? { after: this.next } : {}
    const params = { path: { id: this.#id }, query }
    const reply = await wire.GET(`/v1/${this.#noun}/{id}/history`, { params })
    if (run !== this.#run) return
    this.loading = false
    if (!reply.ok) {
      this.problem = reply.problem
      return
    }
    this.problem = null
    this.items = more ? [...this.items, ...reply.data.items] : reply.data.items
    this.next = reply.data.next ?? null
  }
}
