// What the rigs of a register carry, as lists that a rig class may begin with. It proposes; whoever writes the class decides.
import type { Kind, Slot } from '@/api/types'
import { KIND_LIST, kindWord } from '@/words/piece'
import { slotId } from './complement'

export interface Load {
  /** "1 power unit, 1 cutter, 2 hoses". */
  words: string
  /** The names of the rigs that carry just that. */
  rigs: string[]
  slots: Slot[]
}

const many = (n: number, kind: Kind) => {
  const word = kindWord(kind).toLowerCase()
  return `${n} ${n === 1 ? word : word.endsWith('y') ? `${word.slice(0, -1)}ies` : `${word}s`}`
}

/** The same loads together, the commonest first. */
export function carried(
  rigs: readonly { id: string; name: string }[],
  aboard: (rig: string) => readonly Kind[],
): Load[] {
  const loads = new Map<string, Load>()
  for (const { id, name } of rigs) {
    const kinds = aboard(id)
    const counts = KIND_LIST.map(
      (kind) => [kind, kinds.filter((one) => one === kind).length] as const,
    ).filter(([, n]) => n > 0)
    if (!counts.length) continue
    const words = counts.map(([kind, n]) => many(n, kind)).join(', ')
    const known = loads.get(words)
    if (known) known.rigs.push(name)
    else loads.set(words, { words, rigs: [name], slots: slotsOf(counts) })
  }
  return [...loads.values()].sort((a, b) => b.rigs.length - a.rigs.length)
}

function slotsOf(counts: readonly (readonly [Kind, number])[]): Slot[] {
  const slots: Slot[] = []
  for (const [kind, n] of counts)
    for (let at = 1; at <= n; at++) {
      const name = n === 1 ? kindWord(kind) : `${kindWord(kind)} ${at}`
      slots.push({ id: slotId(name, slots), name, kinds: [kind], required: true })
    }
  return slots
}
