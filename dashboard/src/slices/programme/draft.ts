// A check plan while it is written: steps added, moved and left out, what each kind of answer begins with, and what is sent.
import type {
  CheckPlanBody,
  CheckRhythm,
  Kind,
  Measure,
  Model,
  PlanStep,
  StepAsk,
  StepLimit,
} from '@/api/types'

export const EMPTY: CheckPlanBody = {
  name: '',
  version: 1,
  covers: { kinds: [], models: [] },
  rhythm: { every: 'calendar', rule: 'FREQ=WEEKLY;BYDAY=MO', start: '2024-01-01T08:00:00' },
  steps: [],
  signer: 'member',
  grace_days: 2,
  proves: ['checked'],
}
export const MOST_STEPS = 60

/** The lowest free id; it stays when the words change. */
export function stepId(steps: PlanStep[]): string {
  const taken = new Set(steps.map((one) => one.id))
  for (let n = steps.length + 1; ; n++) if (!taken.has(`step-${n}`)) return `step-${n}`
}
export const newStep = (steps: PlanStep[]): PlanStep => ({
  id: stepId(steps),
  title: '',
  how: '',
  ask: { kind: 'yes_no', sound: true },
  stage: 'look',
  source: { kind: 'practice' },
  fails_as: 'other',
})

/** What each kind of answer begins with. */
export function askOf(kind: StepAsk['kind']): StepAsk {
  switch (kind) {
    case 'yes_no':
      return { kind, sound: true }
    case 'choice':
      return { kind, options: ['good', 'not good'], passing: ['good'] }
    case 'number':
      // What is measured has to be chosen: whatever stood there first would be taken for it.
      return { kind, measure: '' as Measure, units: [], limits: [] }
    case 'photo':
    case 'note':
      return { kind }
  }
}
/** Whether nobody has chosen yet what a number measures. */
export const isUnchosen = (ask: StepAsk) => ask.kind === 'number' && !ask.measure
export function limitOf(kind: StepLimit['kind']): StepLimit {
  switch (kind) {
    case 'fixed':
      return { kind, min: null, max: null }
    case 'share_of_rating':
      return { kind, bound: 'at_least', percent: 90, of: 'spreading_force' }
    case 'makers_bound':
      return { kind }
    case 'drift':
      return { kind, percent: 20, way: 'either' }
  }
}
export function rhythmOf(every: CheckRhythm['every']): CheckRhythm {
  switch (every) {
    case 'use':
    case 'shift':
      return { every }
    case 'calendar':
      return EMPTY.rhythm
    case 'months':
      return { every, months: 12 }
    case 'uses':
      return { every, uses: 100 }
    case 'hours':
      return { every, hours: 50 }
    case 'event':
      return { every, events: ['drop'] }
  }
}

export function moved<T>(list: T[], from: number, to: number): T[] {
  if (to < 0 || to >= list.length || from === to) return list
  const next = [...list]
  const [one] = next.splice(from, 1)
  if (one !== undefined) next.splice(to, 0, one)
  return next
}
export const swapped = <T>(list: T[], at: number, to: T) => list.map((one, n) => (n === at ? to : one))
export const without = <T>(list: T[], at: number) => list.filter((_, n) => n !== at)
export const toggled = <T>(list: readonly T[] | undefined, one: T, on: boolean): T[] =>
  on ? [...(list ?? []).filter((other) => other !== one), one] : (list ?? []).filter((other) => other !== one)

/** The plan as it is sent: blanks at the ends of texts gone, and a caution that says nothing. */
export function cleaned(plan: CheckPlanBody): CheckPlanBody {
  return {
    ...plan,
    name: plan.name.trim(),
    steps: plan.steps.map((step) => ({
      ...step,
      title: step.title.trim(),
      how: step.how?.trim() ?? '',
      caution: step.caution?.trim() || null,
    })),
  }
}
export const same = (a: CheckPlanBody, b: CheckPlanBody) =>
  JSON.stringify(ordered(cleaned(a))) === JSON.stringify(ordered(cleaned(b)))
/** Objects with their keys in order and without what is null, empty or off: what is left out and what is none say the same. */
function ordered(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(ordered)
  if (value === null || typeof value !== 'object') return value
  const said = Object.entries(value)
    .map(([key, one]) => [key, ordered(one)] as const)
    .filter(([, one]) => one !== null && one !== undefined && one !== false && one !== '' && !isEmpty(one))
  return Object.fromEntries(said.toSorted(([a], [b]) => (a < b ? -1 : 1)))
}
const isEmpty = (value: unknown) =>
  typeof value === 'object' && value !== null && Object.keys(value).length === 0

export const covers = (plan: CheckPlanBody, model: Pick<Model, 'id' | 'kind'>) => {
  const { kinds = [], models = [] } = plan.covers
  return (
    (!kinds.length || kinds.includes(model.kind)) &&
    (!models.length || models.includes(model.id)) &&
    kinds.length + models.length > 0
  )
}

/** The kinds that plans name, each with its plans; what a plan names by models alone stands under the kinds of these. */
export function byKind<T extends { plan: CheckPlanBody }>(
  plans: T[],
  kinds: readonly Kind[],
  kindOf: (model: string) => Kind | undefined,
): Map<Kind, T[]> {
  const map = new Map<Kind, T[]>(kinds.map((kind) => [kind, []]))
  for (const one of plans) {
    const named = one.plan.covers.kinds ?? []
    const meant = named.length
      ? named
      : [...new Set((one.plan.covers.models ?? []).map(kindOf).filter((kind) => kind !== undefined))]
    for (const kind of meant) map.get(kind)?.push(one)
  }
  return map
}
