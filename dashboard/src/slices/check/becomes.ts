// What a failing answer does to a piece, as it is said before somebody signs.
import type { Piece, PlanStep } from '@/api/types'
import { defectRules } from '@/store/rules.svelte'
import { stopped } from '@/store/seen.svelte'
import { session } from '@/store/session.svelte'
import { choiceOf, ruleFor } from '@/words/defect'
import { conditionWords } from '@/words/found'
import type { Given } from './walk'

/** "PU-105 goes out of service; hang the tag." */
export function becomesWords(piece: Piece, step: PlanStep, given: Given | undefined): string {
  if (stopped(piece)) return `${piece.tag} must not be used as it is; leave the tag on it.`
  const rule = ruleFor(defectRules.all, piece.kind, step.fails_as)
  const choice = choiceOf(rule, session.member?.role ?? 'crew')
  if (!given || !('said' in given) || !given.usable || !choice.usable)
    return `${piece.tag} goes out of service; hang the tag.`
  return `${piece.tag} stays usable with a limit${choice.limit ? `: ${conditionWords(choice.limit)}` : '.'}`
}
