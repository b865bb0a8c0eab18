// Setting the demand, with the way back: what was there before is set again.
import type { Write } from 'fullset-client'
import type { Demand } from '@/api/types'
import { Act } from '@/store/act.svelte'
import { keptWords } from '@/store/outbox.svelte'
import { session } from '@/store/session.svelte'
import { notices } from '@/ui/notice.svelte'
import { wholeOf } from './demand'

export class Setting {
  readonly act = new Act()

  /** `after` runs when it was done, also after an undo. */
  async set(
    mine: string,
    before: Demand | undefined,
    changes: Partial<Omit<Demand, 'id' | 'rev'>>,
    after: () => unknown,
  ): Promise<boolean> {
    const id = session.agency?.id ?? ''
    const write: Write<'demand.set'> = { kind: 'demand.set', body: { id, ...changes }, expects: before?.rev }
    const how = await this.act.run(mine, [write], (sent, how) => {
      if (how === 'kept') return notices.say(keptWords)
      const first = sent[0]
      const rev = first?.outcome === 'applied' ? first.revision : undefined
      const undo = before && { label: 'Undo', run: () => void this.#undo(before, rev, after) }
      notices.say(`Done: ${mine.charAt(0).toLowerCase()}${mine.slice(1)}.`, undo)
      after()
    })
    return how !== false
  }

  async #undo(before: Demand, rev: number | undefined, after: () => unknown) {
    const undo = new Act()
    const write: Write<'demand.set'> = { kind: 'demand.set', body: wholeOf(before), expects: rev }
    const done = await undo.run('Set the demand as it was before', [write])
    notices.say(
      done
        ? done === 'kept'
          ? keptWords
          : 'The demand is as it was before.'
        : `Not undone: ${undo.shown?.title ?? 'somebody has changed it since'}`,
    )
    after()
  }
}
