// What could mend a gap, read out: where a piece is, in which state, when it is expected, whom to call.
import type { Gap, Level, Piece, Remedy, RemedyCandidate } from '@/api/types'
import { levelOrder, levelWord } from './level'
import { levelMark, type MarkWords } from './marks'
import { dateIn, dateWords } from './time'

export const gapKey = (gap: { in: string; id: string }) => `${gap.in}:${gap.id}`

/** What a piece leaves open where it is out: its own place on the list, before a need that lacks it among others. */
export function gapLeft(gaps: Gap[], piece: Pick<Piece, 'id' | 'kind'>): Gap | undefined {
  const open = gaps.filter((gap) => gap.near.some((near) => near.piece === piece.id))
  const own = open.filter((gap) => gap.kinds.includes(piece.kind))
  return own.find((gap) => gap.in === 'slot') ?? own[0] ?? open[0]
}

/** One that is on its way to this rig already: no second one is offered for the same gap. */
export const coming = (remedy: Remedy | undefined): RemedyCandidate | undefined =>
  remedy?.candidates.find((one) => one.on_its_way)

/** What the rig would be with it. A level that stays is not called restored, and what is not ready restores nothing yet. */
export function becomesMark(one: RemedyCandidate, rigName: string, level: Level | undefined): MarkWords {
  const better = levelOrder(one.restores) > levelOrder(level)
  const word = levelWord(one.restores).toLowerCase()
  if (better && !one.ready)
    return { shape: 'half', tone: 'quiet', word: `Not ready. Once it is, ${rigName} becomes ${word}` }
  if (better) return { ...levelMark(one.restores), word: `${rigName} becomes ${word}` }
  return {
    shape: 'half',
    tone: 'quiet',
    word: `${rigName} stays ${word}: not the only thing that is missing`,
  }
}

/** When to expect it; a day that is past is said as past. */
export function expectedWords(one: RemedyCandidate, now = new Date()): string {
  if (!one.expected_on) return one.ready ? '' : 'no date given'
  return `${one.expected_on < dateIn(now) ? 'was expected' : 'expected'} ${dateWords(one.expected_on)}`
}

/** What was looked at, and no more: one piece for one gap, put right where it must be, that costs no other rig its level. */
export const NO_SINGLE =
  'No single piece on record would do here without costing another rig its level. Several together were not looked at.'
