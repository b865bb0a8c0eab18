// What acts would do, as lines: "Engine 4 goes from none to full".
import type { Effects } from '@/api/types'
import { levelWord } from './level'
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
