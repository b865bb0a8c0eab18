// One act of a person on a screen: sending, then done, refused, or in conflict with both sides to choose from.
import type { AnyRecord, Command, Problem } from '@/api/types'
import { problemTitle, problemTodo } from '@/words/problems'
import { prepare, sendAll, type Sent, type Write } from './commands'
import { standsNow } from './stands'

export class Act {
  busy = $state(false)
  problem = $state<Problem | null>(null)
  current = $state<AnyRecord | null>(null)
  #writes: Write[] = []
  #mine = $state('')
  /** Commands whose answer never came. The same act goes out again as the same commands. */
  #lost: Command[] | null = null
  #done: (sent: Sent[]) => void = () => {}

  get shown() {
    return this.problem ? { title: problemTitle(this.problem), todo: problemTodo(this.problem) } : null
  }
  get conflict() {
    if (!this.current) return null
    return {
      mine: this.#mine,
      theirs: standsNow(this.current),
      again: () => void this.#again(),
      leave: () => this.clear(),
    }
  }

  clear() {
    this.problem = null
    this.current = null
  }

  async run(mine: string, writes: Write[], done: (sent: Sent[]) => void = () => {}): Promise<boolean> {
    if (this.busy) return false
    this.busy = true
    this.clear()
    const commands = this.#lost && mine === this.#mine ? this.#lost : prepare(writes)
    this.#lost = null
    this.#writes = writes
    this.#mine = mine
    this.#done = done
    try {
      const sent = await sendAll(commands)
      for (const one of sent) {
        if (one.outcome === 'conflict') {
          this.current = one.current ?? ({ id: '', rev: 0 } as AnyRecord)
          return false
        }
        if (one.outcome === 'refused') {
          this.problem = one.problem
          if (one.lost) this.#lost = commands
          return false
        }
      }
      done(sent)
      return true
    } finally {
      this.busy = false
    }
  }

  /** The same decision, now made on the state that stands. */
  async #again() {
    const current = this.current
    const writes = this.#writes.map((write) =>
      write.expects !== undefined && current && write.body['id'] === current.id
        ? { ...write, expects: current.rev }
        : write,
    )
    await this.run(this.#mine, writes, this.#done)
  }
}
