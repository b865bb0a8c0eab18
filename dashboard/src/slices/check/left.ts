// What a check leaves undone where it was done: other checks that are due there, and gear that must not be used.
import type { CheckDue, CheckPlan, Id, Piece } from '@/api/types'
import { asksToday, dueState } from '@/words/due'
import { keyOf } from './walk'

export interface Left {
  /** Checks that are still due by tonight, overdue, or of which nobody knows when: overdue first. */
  due: { plan: Id; name: string; piece: Piece; due: CheckDue }[]
  /** Pieces that must not be used as they are. */
  out: Piece[]
  /** Pieces of which this phone has nothing about what is due. */
  unknown: Piece[]
}
interface Facts {
  /** Undefined: this phone does not know it. */
  duesOf: (piece: Id) => { plan: Id; due: CheckDue }[] | undefined
  planOf: (plan: Id) => CheckPlan | undefined
  isOut: (piece: Piece) => boolean
  /** Whether a check, by plan and piece, was done in the walk that is over. */
  isDone: (key: string) => boolean
}
export function leftOf(pieces: Piece[], { duesOf, planOf, isOut, isDone }: Facts, now: Date): Left {
  const here = pieces.filter((piece) => piece.state === 'in_service' || piece.state === 'out_of_service')
  const due = here.flatMap((piece) =>
    (duesOf(piece.id) ?? []).flatMap((one) => {
      const plan = planOf(one.plan)
      const open = asksToday(dueState(one.due, now)) && !isDone(keyOf({ plan: one.plan, piece: piece.id }))
      return plan?.state === 'in_force' && open
        ? [{ plan: one.plan, name: plan.plan.name, piece, due: one.due }]
        : []
    }),
  )
  const late = (one: { due: CheckDue }) => Number(dueState(one.due, now) !== 'overdue')
  return {
    due: due.toSorted((a, b) => late(a) - late(b)),
    out: here.filter(isOut),
    unknown: here.filter((piece) => !duesOf(piece.id)),
  }
}
export const nothingLeft = ({ due, out, unknown }: Left) => !due.length && !out.length && !unknown.length
