// The classes of defects as a firefighter says them, and what the agency's rules say about each.
import type { DefectClass, DefectRule, Kind, Role } from '@/api/types'

const CLASSES: Record<DefectClass, string> = {
  cut_or_blister: 'Cut or blister',
  leak: 'Leak',
  kink: 'Kink',
  deformation: 'Bent or deformed',
  drop_or_overload: 'Dropped or overloaded',
  fire: 'In a fire',
  flood: 'Under water',
  electrical: 'Electrical',
  fluid_mix: 'Fluids mixed',
  stuck_under_pressure: 'Stuck under pressure',
  control_does_not_return: 'Control does not return',
  pressure: 'Pressure or output wrong',
  other: 'Something else',
}
export const CLASS_LIST = Object.keys(CLASSES) as DefectClass[]
export const classWord = (it: DefectClass | undefined) => (it ? (CLASSES[it] ?? it) : 'Something else')

export const ruleFor = (rules: DefectRule[], kind: Kind | undefined, it: DefectClass) =>
  rules.find((rule) => rule.kind === kind && rule.class === it)

/** What a piece of that kind can have; all of it while the rules are not on this phone. */
export const classesOf = (rules: DefectRule[], kind: Kind | undefined) =>
  CLASS_LIST.filter((it) => rules.length === 0 || ruleFor(rules, kind, it) !== undefined)

/** Damage that is plain to see and leaves no choice, in the words that go on record: reported by one tap. */
const AT_ONCE: { word: string; class: DefectClass }[] = [
  { word: 'Cut', class: 'cut_or_blister' },
  { word: 'Leak', class: 'leak' },
  { word: 'Blister', class: 'cut_or_blister' },
  { word: 'Kink', class: 'kink' },
]
/** What of it a piece of that kind can have. */
export const atOnceOf = (rules: DefectRule[], kind: Kind | undefined) => {
  const all = classesOf(rules, kind)
  return AT_ONCE.filter((one) => all.includes(one.class))
}

export interface Choice {
  /** Whether "still usable" may be chosen. */
  usable: boolean
  /** Why not, in a sentence; empty where it may. */
  why: string
  limit: string
  days: number | null
}

/** Reads the rule out. Without a rule on this phone nothing stays usable: unknown is not usable. */
export function choiceOf(rule: DefectRule | undefined, role: Role | undefined): Choice {
  const no = (why: string): Choice => ({ usable: false, why, limit: '', days: null })
  if (!rule) return no('The rules for this are not on this phone, so it goes out of service.')
  if (rule.usable_by === 'nobody')
    return no(
      rule.shop_must_see
        ? 'It must not be used until the shop has seen it, however it looks.'
        : 'It must not be used until it is put right, however it looks.',
    )
  if (rule.usable_by === 'officer' && role === 'crew')
    return no(
      'Only an officer may say that it can still be used. Send it as out of service, then tell the officer.',
    )
  return { usable: true, why: '', limit: rule.limit ?? '', days: rule.repair_by_days ?? null }
}

/** The day at whose start it stops being usable: the day of discovery is not counted, then come the days. */
export function repairDay(days: number | null, today: string): string | null {
  if (days === null) return null
  const due = new Date(`${today}T00:00:00Z`)
  due.setUTCDate(due.getUTCDate() + days + 1)
  return due.toISOString().slice(0, 10)
}
