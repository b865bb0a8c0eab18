import type { PlanState } from '@/api/types'
import type { MarkWords } from '@/words/marks'

/** How far a plan is, as a word and a shape. */
export function planMark(state: PlanState): MarkWords {
  if (state === 'published') return { shape: 'solid', tone: 'sound', word: 'Published' }
  if (state === 'draft') return { shape: 'ended', tone: 'quiet', word: 'Draft' }
  return { shape: 'barred', tone: 'quiet', word: 'Withdrawn' }
}
