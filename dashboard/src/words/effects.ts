// What acts would do, as lines: "Engine 4 goes from none to full".
import type { Effects, Verdict } from '@/api/types'
import { levelOrder, levelWord } from './level'
import { verdictMark } from './verdict'

export function effectRows(effects: Effects | null): { key: string; text: string }[] {
  if (!effects) return []
  const rigs = effects.rigs.map((rig) => {
    const [before, after] = [levelWord(rig.before).toLowerCase(), levelWord(rig.after).toLowerCase()]
    const moved = before === after ? `stays ${after}` : `goes from ${before} to ${after}`
    const confirmed =
      rig.confirmed_before === rig.confirmed_after
        ? ''
        : rig.confirmed_after
          ? ', confirmed'
          : ', not confirmed'
    return { key: rig.rig, text: `${rig.name} ${moved}${confirmed}` }
  })
  const pieces = effects.pieces.map((piece) => ({
    key: piece.piece,
    text: `${piece.tag}: ${verdictMark(piece.before).word.toLowerCase()} before, ${verdictMark(piece.after).word.toLowerCase()} after`,
  }))
  return [...rigs, ...pieces]
}

const VERDICTS: readonly Verdict[] = ['no', 'not_on_this_rig', 'cannot_be_confirmed', 'yes_with_limit', 'yes']

/** Whether something may be used, or counts, that does not now: a reason is asked for then. */
export function raises(effects: Effects | null): boolean {
  if (!effects) return false
  return (
    effects.rigs.some((rig) => levelOrder(rig.after) > levelOrder(rig.before)) ||
    effects.rigs.some((rig) => rig.after === rig.before && rig.confirmed_after && !rig.confirmed_before) ||
    effects.pieces.some((piece) => VERDICTS.indexOf(piece.after) > VERDICTS.indexOf(piece.before))
  )
}
