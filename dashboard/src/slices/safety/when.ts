// When a mishap happened, of a day and a time as they were typed. The day that was said is always kept.
import { instantOn } from '@/words/mishap'

export interface When {
  /** Null: just now, the time of the act. */
  at: Date | null
  /** Nobody said the time: noon stands for it, and the record says so in words. */
  unsaid: boolean
}
/** Null: there is no such day, or the clock showed no such time on it. */
export function whenOf(day: string, time: string, today: string): When | null {
  if (!day) return null
  if (!time && day === today) return { at: null, unsaid: false }
  const at = instantOn(day, time || '12:00')
  return at && { at, unsaid: !time }
}

const UNSAID = ' (The time of day was not said.)'
const MOST = 4000
/** What happened, as it goes on record. */
export const toldOf = (what: string, unsaid: boolean) =>
  unsaid ? what.trim().slice(0, MOST - UNSAID.length) + UNSAID : what.trim()
/** So much may be typed that nothing of it is cut off. */
export const mostOf = (unsaid: boolean) => (unsaid ? MOST - UNSAID.length : MOST)
