// The answers about rigs and pieces as a screen may show them: the record's, unless it has lapsed or something waits here.
import type { Id, Piece } from '@/api/types'
import type { MarkWords } from '@/words/marks'
import { levelMark } from '@/words/marks'
import { levelWord } from '@/words/level'
import { failedStep } from '@/words/sound'
import { verdictMark } from '@/words/verdict'
import { now } from '@/ui/tick.svelte'
import { foresee, seePiece, seeRig, type PieceFacts, type SeenPiece, type SeenRig } from './foresee'
import { world } from './world.svelte'

const WET = new Set([
  'power_unit',
  'hand_pump',
  'hose',
  'adapter',
  'cutter',
  'spreader',
  'combination_tool',
  'ram',
])

/** As the server had it: what waits here must not hide from which rig a piece is taken. */
function factsOf(piece: Piece | undefined): PieceFacts | undefined {
  if (!piece) return undefined
  const { id, tag, kind, place } = piece
  const battery = Boolean(world.get('model', piece.model)?.hookup.battery)
  const bound = place.at === 'transit' && place.to.at === 'rig' ? place.to.rig : null
  return { id, tag, kind, rig: place.at === 'rig' ? place.rig : null, bound, wet: WET.has(kind) && !battery }
}
const facts = {
  piece: (id: Id) => factsOf(world.before('piece', id)),
  about: (noun: 'defect' | 'ticket' | 'swap', id: Id) => world.get(noun, id)?.piece,
  aboard: (rig: Id) =>
    world
      .allBefore('piece')
      .filter((p) => p.place.at === 'rig' && p.place.rig === rig)
      .flatMap((p) => factsOf(p) ?? []),
  failed: (body: Record<string, unknown>) =>
    failedStep(world.get('check_plan', String(body['plan']))?.plan.steps ?? [], body),
}

class Seen {
  readonly #ahead = $derived(foresee(world.acts, facts))

  rig(id: Id | undefined): SeenRig {
    return seeRig(world.get('rig_standing', id), this.#ahead.rigs.get(id ?? ''), facts.piece, now())
  }
  piece(id: Id): SeenPiece {
    return seePiece(id, world.get('piece_standing', id), this.#ahead, now())
  }
}
export const seen = new Seen()

/** A rig's level as a word and a shape; what is not counted says so in the same breath. */
export function rigMark(it: SeenRig): MarkWords {
  if (it.level === 'not_judged' || !it.level) return levelMark(it.level)
  if (it.lowered) return { shape: 'held', tone: 'weak', word: `Was ${levelWord(it.level).toLowerCase()}` }
  const mark = levelMark(it.level)
  return it.counted ? mark : { shape: 'held', tone: 'quiet', word: `${mark.word}, not counted yet` }
}

/** Whether the answer for a piece is a no, whatever else is said about it. */
export const stopped = (piece: Piece | undefined) =>
  Boolean(piece) && (piece?.state !== 'in_service' || seen.piece(piece.id).verdict === 'no')

export function pieceMark(piece: Piece | undefined): MarkWords {
  if (!piece) return verdictMark(undefined)
  if (piece.state === 'retired') return { shape: 'ended', tone: 'quiet', word: 'Retired' }
  const it = seen.piece(piece.id)
  const mark = verdictMark(it.verdict)
  if (!it.verdict || it.counted || it.verdict === 'no') return mark
  return { shape: 'held', tone: 'quiet', word: `${mark.word}, not counted yet` }
}
