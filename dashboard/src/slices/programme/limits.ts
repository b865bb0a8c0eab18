// Which figures of makers' manuals the plans in force ask for, and which of them nobody has entered. The plans say what they ask;
// whether a check passes is the server's to judge.
import type { CheckPlan, Dimension, MakersBound, Measure, Model } from '@/api/types'
import { byName } from '@/words/order'
import { dimensionOf, measureWord } from '@/words/plans'
import { covers } from './draft'

export interface Wanted {
  key: string
  model: Model
  sort: MakersBound['sort']
  /** "Opening time". */
  what: string
  dimension: Dimension | null
  units: string[]
  /** The plans that ask for it, by name. */
  plans: string[]
  /** What is on record; null: nothing, and none of these plans can be passed. */
  bound: MakersBound | null
}

const sameSort = (a: MakersBound['sort'], b: MakersBound['sort']) =>
  a.measure === b.measure && (a.step ?? null) === (b.step ?? null)

/** Of each model each figure once, what is missing first. */
export function wanted(plans: CheckPlan[], models: Model[]): Wanted[] {
  const found = new Map<string, Wanted>()
  for (const { state, plan } of plans) {
    if (state !== 'in_force') continue
    for (const model of models) {
      if (!covers(plan, model)) continue
      for (const step of plan.steps) {
        const { ask } = step
        if (ask.kind !== 'number' || !ask.limits?.some((one) => one.kind === 'makers_bound')) continue
        const gear = step.applies?.gear ?? []
        if (gear.length && model.gear && !gear.includes(model.gear)) continue
        const other = ask.measure === 'other'
        const sort = { measure: ask.measure, step: other ? step.id : null }
        const key = `${model.id}/${ask.measure}/${sort.step ?? ''}`
        const known = found.get(key)
        if (known) {
          if (!known.plans.includes(plan.name)) known.plans.push(plan.name)
          continue
        }
        found.set(key, {
          key,
          model,
          sort,
          what: other ? step.title : measureWord(ask.measure as Measure),
          dimension: dimensionOf(ask),
          units: ask.units ?? [],
          plans: [plan.name],
          bound: model.makers_bounds.find((one) => sameSort(one.sort, sort)) ?? null,
        })
      }
    }
  }
  return [...found.values()].toSorted(
    (a, b) => Number(a.bound !== null) - Number(b.bound !== null) || byName(a.model, b.model),
  )
}

/** The limits of a model with one of them set, or taken off. */
export function withBound(model: Model, sort: MakersBound['sort'], bound: MakersBound | null): MakersBound[] {
  const rest = model.makers_bounds.filter((one) => !sameSort(one.sort, sort))
  return bound ? [...rest, bound] : rest
}

/** Pumps of which nobody has said whether they have a dump valve. */
export const unknownDump = (models: Model[]) =>
  models.filter(
    (one) => (one.kind === 'power_unit' || one.kind === 'hand_pump') && (one.dump_valve ?? null) === null,
  )
