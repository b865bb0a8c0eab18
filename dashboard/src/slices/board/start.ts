// From nothing to a true board: which steps are done and how much is left of each. Read from the records, never ticked.
import type { Rig, RigClass } from '@/api/types'

export type StepKey = 'register' | 'grades' | 'classes' | 'rigs' | 'members' | 'devices' | 'plans' | 'check'
export interface StartFacts {
  rigs: readonly Rig[]
  pieces: number
  graded: boolean
  classes: readonly RigClass[]
  /** Whoever was let go, revoked or withdrawn counts too: the step was done once. */
  members: number
  devices: number
  plans: number
  /** Who did each of the checks. */
  checkedBy: readonly string[]
}
export interface Step {
  key: StepKey
  left: number
  of: number
}

const once = (key: StepKey, done: boolean): Step => ({ key, left: done ? 0 : 1, of: 1 })
/** Where there is none yet, one is missing. */
const each = <T>(key: StepKey, all: readonly T[], lacks: (one: T) => boolean): Step =>
  all.length ? { key, left: all.filter(lacks).length, of: all.length } : once(key, false)

/** In the order in which they are done. */
export function startOf(facts: StartFacts): Step[] {
  // The board counts the front line; a reserve without a class makes no number wrong.
  const counted = facts.rigs.filter((rig) => rig.duty === 'front_line')
  return [
    once('register', facts.rigs.length > 0 && facts.pieces > 0),
    once('grades', facts.graded),
    each('classes', facts.classes, (one) => !one.expects),
    each('rigs', counted, (rig) => !rig.rig_class),
    once('members', facts.members > 1),
    // Two who check have found a way in, on whatever they hold.
    once('devices', facts.devices > 0 || facts.checkedBy.some((one) => one !== facts.checkedBy[0])),
    once('plans', facts.plans > 0),
    once('check', facts.checkedBy.length > 0),
  ]
}

const ESSENTIAL: ReadonlySet<StepKey> = new Set(['register', 'grades'])
/** Without these two the board says nothing that is true, so nobody puts them away. */
export const isEssential = (key: StepKey) => ESSENTIAL.has(key)

const KEPT = 'fullset.start-away'
/** What stands for the whole guide, once it was seen to be over here: a rig that is added later does not bring it back. */
export const OVER = 'over'

/** The steps that this browser was told to leave out. */
export function putAway(): string[] {
  try {
    return (localStorage.getItem(KEPT) ?? '').split(',').filter(Boolean)
  } catch {
    return []
  }
}
export function keepAway(keys: readonly string[]) {
  try {
    if (keys.length) localStorage.setItem(KEPT, keys.join(','))
    else localStorage.removeItem(KEPT)
  } catch {
    // A browser that keeps nothing shows them again next time.
  }
}
