// What became of the acts of this phone: the last of them are kept until the member signs out.
import { disk } from './disk'
import { doneKey, type Done, type KeptSession } from './queue'

export type { Done } from './queue'

export async function doneHere(): Promise<Done[]> {
  const store = await disk()
  const owner = (await store.get<KeptSession>('meta', 'session'))?.owner
  return owner ? merged((await store.get<Done[]>('meta', doneKey(owner))) ?? []) : []
}

const RANK: Done['how'][] = ['sent', 'withdrawn', 'refused', 'conflict']

/** An act of several commands is one line, and says the worst that became of them. */
export function merged(list: readonly Done[]): Done[] {
  const lines: Done[] = []
  for (const one of list) {
    const last = lines.at(-1)
    if (last?.words !== one.words || last.queued_at !== one.queued_at) lines.push(one)
    else if (RANK.indexOf(one.how) > RANK.indexOf(last.how)) lines[lines.length - 1] = one
  }
  return lines
}
