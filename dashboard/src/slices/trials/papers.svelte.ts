// The sheets that a member is filling in, kept on this phone for whoever began them.
import type { Id } from '@/api/types'
import { disk } from '@/store/disk'
import { session } from '@/store/session.svelte'
import type { Paper } from './sheet'

type Kept = Record<string, Paper>
/** Half-done sheets are for a trial or two; the oldest goes past this. */
const MOST = 40
const keyFor = (owner: string) => `trials:${owner}`
const nameOf = (trial: Id, candidate: number) => `${trial}/${candidate}`

export class Papers {
  all = $state.raw<Kept>({})
  fault = $state('')
  #read: Promise<void> = Promise.resolve()
  #written: Promise<void> = Promise.resolve()

  /** Reads what this phone kept. What was begun before the disk answered stays, and is written after it. */
  open(): Promise<void> {
    const key = keyFor(session.owner)
    this.#read = disk().then(async (kept) => {
      this.all = { ...(await kept.get<Kept>('meta', key)), ...this.all }
    })
    return this.#read.catch(
      () =>
        void (this.fault = 'What this phone kept of half-done sheets cannot be read. Load the page again.'),
    )
  }
  of(trial: Id, candidate: number): Paper | undefined {
    return this.all[nameOf(trial, candidate)]
  }
  keep(paper: Paper) {
    const name = nameOf(paper.trial, paper.candidate)
    const others = Object.entries(this.all).filter(([key]) => key !== name)
    this.#write(Object.fromEntries([...others, [name, paper] as const].slice(-MOST)))
  }
  drop(trial: Id, candidate: number) {
    const name = nameOf(trial, candidate)
    if (!this.all[name]) return
    this.#write(Object.fromEntries(Object.entries(this.all).filter(([key]) => key !== name)))
  }

  #write(all: Kept) {
    this.all = all
    const key = keyFor(session.owner)
    this.#written = this.#written
      .then(async () => {
        await this.#read
        await (await disk()).write([{ put: 'meta', key, value: this.all }])
      })
      .catch(
        () => void (this.fault = 'This phone could not keep the sheet half done. Do not close the page.'),
      )
  }
}
