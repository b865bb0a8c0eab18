// A swap plan as a person takes it: whole rigs, and rigs that share pieces together.
import type { MoveLine, RestoredLine, SwapPlanView } from '@/api/types'
import { amount, plural, shareWords } from '@/words/share'

export interface Part {
  /** One rig, or several of which one gives to another. */
  rigs: RestoredLine[]
  moves: MoveLine[]
}

/** A rig counts only when all its gaps are filled, so its moves stay together. */
export function partsOf(plan: SwapPlanView): Part[] {
  const parts: Part[] = plan.restored.map((rig) => ({
    rigs: [rig],
    moves: plan.moves.filter((m) => m.rig === rig.rig),
  }))
  const holding = (rig: string) => parts.find((p) => p.rigs.some((r) => r.rig === rig))
  for (const move of plan.moves) {
    const to = holding(move.rig)
    const from = move.donor_rig ? holding(move.donor_rig) : undefined
    if (!to || !from || to === from) continue
    to.rigs.push(...from.rigs)
    to.moves.push(...from.moves)
    parts.splice(parts.indexOf(from), 1)
  }
  return parts
}

/** Who starts the moves of a part that whoever looks may not: no word where they may. */
export const askFor = (part: Part): string[] => [...new Set(part.moves.flatMap((m) => m.ask?.words ?? []))]

/** What full rigs reach, in what the plan counts. */
export function countWords(plan: Pick<SwapPlanView, 'by' | 'total'>, value: number): string {
  if (plan.by === 'rigs') return plural(Math.round(value), 'full rig')
  return `${shareWords(plan.total > 0 ? value / plan.total : null)} of the demand`
}

export function sureWords(plan: SwapPlanView): string {
  if (plan.proved)
    return 'Every possible plan was compared: none gives more, and none gives as much with fewer moves.'
  if (plan.undecided.length) {
    const rigs = plan.undecided.map((open) => open.name).join(', ')
    const most = plan.bound > plan.after ? `, but none reaches more than ${countWords(plan, plan.bound)}` : ''
    return `Not every set of pieces was tried for ${rigs}: a better plan was not ruled out${most}.`
  }
  if (plan.bound <= plan.after)
    return 'No plan reaches more; one with fewer moves or minutes was not ruled out.'
  return `The search was stopped: no plan reaches more than ${countWords(plan, plan.bound)}.`
}

export const startWords = (moves: number) =>
  moves === 0 ? 'No swap is chosen' : moves === 1 ? 'Start this swap' : `Start these ${plural(moves, 'swap')}`

export const drive = (minutes: number) => `${amount(Math.round(minutes))} min of driving`

/** Moves of which the piece is no longer as the plan saw it. */
export const changedSince = (moves: MoveLine[], rev: (piece: string) => number | undefined) =>
  moves.filter((m) => (rev(m.piece) ?? m.piece_rev) !== m.piece_rev)

/** Which move a refusal names: "body.moves[2].slot". */
export function moveNamed<M>(field: string | null | undefined, sent: M[]): M | undefined {
  const at = /moves\[(\d+)\]/.exec(field ?? '')?.[1]
  return at === undefined ? undefined : sent[Number(at)]
}
