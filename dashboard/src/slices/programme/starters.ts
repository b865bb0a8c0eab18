// The starter plans in the order in which people choose them, and what is set for several of them at once.
import type { CheckPlan, CheckPlanBody, Kind, StarterPlan } from '@/api/types'
import { KIND_LIST, kindWord } from '@/words/piece'
import { readRule, writeRule } from '@/words/recur'

const EVENTS = 'After something happened'

/** By kind; what holds for several kinds after an event stands last, by itself. */
export function groupStarters(all: StarterPlan[]): { name: string; items: StarterPlan[] }[] {
  const nameOf = ({ plan }: StarterPlan) =>
    plan.rhythm.every === 'event' ? EVENTS : kindWord(plan.covers.kinds?.[0])
  const names = [...KIND_LIST.map((kind: Kind) => kindWord(kind)), EVENTS]
  return names
    .map((name) => ({ name, items: all.filter((one) => nameOf(one) === name) }))
    .filter((group) => group.items.length)
}

/** The names of the plans in force: to take the same one over twice would ask everything twice. */
export const takenNames = (plans: CheckPlan[]) =>
  new Set(plans.filter((one) => one.state === 'in_force').map((one) => one.plan.name))

/** Every plan of a week on that day, every plan of the calendar from that hour on. */
export function setTogether(
  plans: Record<string, CheckPlanBody>,
  to: { day?: string; at?: string },
): Record<string, CheckPlanBody> {
  return Object.fromEntries(
    Object.entries(plans).map(([key, plan]) => {
      const { rhythm } = plan
      const rule = rhythm.every === 'calendar' ? readRule(rhythm.rule, rhythm.start) : null
      if (rhythm.every !== 'calendar' || !rule) return [key, plan]
      const next = {
        ...rule,
        ...(to.at ? { at: to.at } : {}),
        ...(to.day && rule.freq === 'WEEKLY' ? { days: [to.day] } : {}),
      }
      return [key, { ...plan, rhythm: { every: 'calendar' as const, ...writeRule(next, rhythm.start) } }]
    }),
  )
}
