// Trials that are owed: what came aboard a rig and was not tried there since, as the server says, and the act of saying that it was.
import type { Id, Piece } from '@/api/types'
import { kindWord } from '@/words/piece'
import { mayLeak, trialWords } from '@/words/tried'
import { Act } from './act.svelte'
import { untried } from './look'
import { keptWords } from './outbox.svelte'
import { world } from './world.svelte'

export interface Owed {
  id: Id
  tag: string
  kind: string
  /** What to do, as it is said once it is done. */
  words: string
  /** It is said on this phone and not sent yet. */
  waits: boolean
}

export class Trial {
  act = new Act()

  owed(pieces: Piece[]): { list: Owed[]; leaks: boolean } {
    const facts = untried(pieces).map((piece) => ({
      piece,
      kind: piece.kind,
      battery: Boolean(world.get('model', piece.model)?.hookup.battery),
    }))
    const list = facts.map(({ piece, kind, battery }) => ({
      id: piece.id,
      tag: piece.tag,
      kind: kindWord(kind),
      words: trialWords(kind, battery),
      waits: world.waits('piece', piece.id),
    }))
    return { list, leaks: mayLeak(facts) }
  }

  /** What to say of it; empty where it was refused. */
  async send(owed: Owed[]): Promise<string> {
    const tags = owed.map((one) => one.tag).join(', ')
    const body = { pieces: owed.map((one) => one.id) }
    const how = await this.act.run(`Tried on this rig: ${tags}`, [{ kind: 'piece.try_out', body }])
    if (!how) return ''
    return how === 'kept' ? `${tags}: ${keptWords}` : `${tags}: tried on this rig.`
  }
}
