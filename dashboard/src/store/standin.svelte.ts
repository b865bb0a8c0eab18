// A stand-in that is put aboard: the act, what is said of it, and the way back.
import type { Write } from 'fullset-client'
import type { Gap, Id, Kind, RemedyCandidate, Rig } from '@/api/types'
import { uuid7 } from '@/api/uuid'
import { notices } from '@/ui/notice.svelte'
import { Act } from './act.svelte'
import { keptWords } from './outbox.svelte'
import { session } from './session.svelte'
import { takeBack } from './undo'
import { world } from './world.svelte'

export type Wanted = Pick<RemedyCandidate, 'piece' | 'tag' | 'rev' | 'kind'>
export interface Meant {
  one: Wanted
  /** What it is for. */
  gap: Gap | undefined
  /** All of the rig. */
  gaps: Gap[]
  driving: boolean
  /** Its place on the list, and who sat there, where that was chosen. */
  slot?: string | undefined
  missing?: Id | undefined
  /** Why it goes aboard although it does not serve. */
  despite?: string
}

/** The slot of the list that a piece of this kind would fill, where the list has that gap too. */
function slotOf(kind: Kind, gap: Gap | undefined, gaps: Gap[]): string | undefined {
  if (gap?.in === 'slot') return gap.id
  return gaps.find((one) => one.in === 'slot' && one.kinds.includes(kind))?.id
}

/** A pump that lets a cutter run again stands in for the pump, not for the cutter. */
const alikeIn = (gap: Gap | undefined, kind: Kind): Id | null | undefined =>
  gap?.near.find(
    (near) => near.piece && world.get('piece', near.piece)?.kind === kind && near.code !== 'needed-elsewhere',
  )?.piece

export class StandIn {
  act = new Act()

  write(rig: Id, { one, gap, gaps, driving, slot, missing, despite }: Meant): Write<'swap.start'> {
    const at = slot ?? slotOf(one.kind, gap, gaps)
    const out = missing ?? alikeIn(gap, one.kind)
    const body = {
      id: uuid7(),
      rig,
      piece: one.piece,
      on_the_way: driving,
      ...(gap?.in === 'need' ? { need: gap.id } : {}),
      ...(at ? { slot: at } : {}),
      ...(out && out !== one.piece ? { stands_in_for: out } : {}),
      ...(despite ? { despite } : {}),
    }
    return { kind: 'swap.start', body, expects: one.rev }
  }

  start({ id, name }: Rig, meant: Meant, done: () => void) {
    const write = this.write(id, meant)
    const { tag } = meant.one
    return this.act.run(`Put ${tag} aboard ${name}`, [write], (_, how) => {
      done()
      const swap = write.body.id
      if (how === 'kept') return notices.say(`${tag}: ${keptWords}`, takeBack(swap))
      const undo = session.may('swap.end') ? { label: 'Undo', run: () => void end(swap, tag) } : undefined
      notices.say(
        meant.driving
          ? `${tag} is on its way to ${name}. It counts when it has arrived; try it on the rig then.`
          : `${tag} stands in on ${name}. Try it on this rig before leaving, and say so on the rig’s page.`,
        undo,
      )
    })
  }
}

async function end(swap: Id, tag: string) {
  const undo = new Act()
  const done = await undo.run('', [
    { kind: 'swap.end', body: { id: swap }, expects: world.get('swap', swap)?.rev },
  ])
  notices.say(
    done
      ? done === 'kept'
        ? keptWords
        : `${tag} goes back where it was.`
      : `Not undone: ${undo.shown?.title ?? 'it changed meanwhile'}`,
  )
}
