// Why a rig has the level that it has, in the lines that the board shows and a handover repeats.
import type { Piece, RigStanding } from '@/api/types'
import { bestNear, FOLLOWS, gapWords, nearWords } from './gap'
import { runsWords } from './level'
import { spoken } from './time'

/** One sentence for each thing that the grade misses; what the list misses is said apart. */
export function whyOf(
  standing: RigStanding | undefined,
  pieceOf: (id: string) => Piece | undefined,
  now = new Date(),
): string[] {
  if (!standing) return ['Its answer has not arrived yet']
  if (standing.level === 'not_judged') return []
  const lines: string[] = []
  const follows = new Map<string, string[]>()
  for (const gap of standing.gaps) {
    if (gap.in !== 'need') continue
    const near = bestNear(gap)
    const piece = near?.piece ? pieceOf(near.piece) : undefined
    if (near && piece && FOLLOWS.has(near.code)) {
      const words = nearWords(near, piece, now).replace(`${piece.tag}: `, '')
      follows.set(words, [...(follows.get(words) ?? []), gap.name])
    } else lines.push(`${gap.name}: ${gapWords(gap, pieceOf, now)}`)
  }
  for (const [words, names] of follows) lines.push(`${names.join(', ')}: ${words}`)
  // What holds for the rig as a whole mostly follows from what is missing, so it stands last.
  const also = standing.also.map((line) => spoken(line, now))
  return [...new Set([...lines, runsWords(standing.still_runs), ...also])].filter(Boolean)
}
