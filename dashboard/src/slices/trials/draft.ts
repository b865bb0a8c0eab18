// What is typed into the form of a trial, and the command that it makes. The service checks it; this only says what is still empty.
import type { BodyOf } from 'fullset-client'
import type { BetterIs, Id, Kind, TrialMeasure } from '@/api/types'
import { unitsOf } from '@/words/plans'
import { measureDimension } from '@/words/trial'

export interface Draft {
  name: string
  candidates: { name: string; kind: Kind; model: Id | '' }[]
  questions: { text: string; weight: number | null; lowest: string; highest: string }[]
  measurements: { what: TrialMeasure; how: string; unit: string; better: BetterIs }[]
  evaluators: Id[]
}
export const MOST = { candidates: 8, questions: 30, measurements: 8, evaluators: 12 }

export const candidate = (kind: Kind = 'cutter'): Draft['candidates'][number] => ({
  name: '',
  kind,
  model: '',
})
export const question = (): Draft['questions'][number] => ({ text: '', weight: 5, lowest: '', highest: '' })

/** Less is better of a weight and a time, more of a force; anybody may say otherwise. */
export function measurement(what: TrialMeasure, system: 'us' | 'si'): Draft['measurements'][number] {
  const units = unitsOf(measureDimension(what))
  const unit = { mass: { us: 'lb', si: 'kg' }, force: { us: 'lbf', si: 'kN' } } as Partial<
    Record<string, Record<'us' | 'si', string>>
  >
  return {
    what,
    how: '',
    unit: unit[measureDimension(what)]?.[system] ?? units[0] ?? '',
    better: what === 'force' ? 'higher' : 'lower',
  }
}
export const empty = (): Draft => ({
  name: '',
  candidates: [candidate(), candidate()],
  questions: [question()],
  measurements: [],
  evaluators: [],
})

/** To begin from. Common practice, no source: what hands in gloves, one person and a dark road ask of a tool. */
export const USUAL: Draft['questions'] = [
  ['Carried by one person from the rig to the work', 8, 'Needs two', 'Carried with one hand'],
  ['Held and turned at shoulder height for a whole cut', 8, 'Has to be put down', 'Stays where it is held'],
  ['Controls worked with wet gloves, without looking', 10, 'Wrong way or no grip', 'Right at once'],
  ['Reaches where our cars have to be opened', 6, 'Reaches few places', 'Reaches all that we tried'],
  ['Seen and worked in the dark', 4, 'Not without a second lamp', 'Lights its own work'],
  ['Made ready again after use', 4, 'Takes a quarter of an hour', 'Wiped and stowed'],
].map(([text, weight, lowest, highest]) => ({
  text: String(text),
  weight: Number(weight),
  lowest: String(lowest),
  highest: String(highest),
}))

const plural = (count: number, one: string, many: string) => (count === 1 ? one : many)

export function lacks(draft: Draft): string[] {
  const found: string[] = []
  const say = (empty: boolean, words: string) => void (empty && found.push(words))
  const blank = (text: string) => !text.trim()
  say(blank(draft.name), 'its name')
  const unnamed = draft.candidates.filter((one) => blank(one.name)).length
  say(unnamed > 0, plural(unnamed, 'the name of a candidate', 'the names of candidates'))
  say(
    draft.questions.some((one) => blank(one.text)),
    'what each question asks',
  )
  say(
    draft.questions.some((one) => blank(one.lowest) || blank(one.highest)),
    'what 1 and 5 mean in each question',
  )
  say(
    draft.questions.some((one) => !one.weight || !Number.isInteger(one.weight)),
    'how much each question weighs, 1 to 10',
  )
  say(
    draft.measurements.some((one) => blank(one.how)),
    'how each thing is measured',
  )
  say(!draft.evaluators.length, 'who answers')
  return found
}

/** Nothing of the draft itself is in it: the outbox keeps plain values. */
export function openBody(id: Id, draft: Draft): BodyOf<'field_trial.open'> {
  return {
    id,
    name: draft.name.trim(),
    candidates: draft.candidates.map((one) => ({
      name: one.name.trim(),
      kind: one.kind,
      model: one.model || null,
    })),
    questions: draft.questions.map((one) => ({
      text: one.text.trim(),
      weight: one.weight ?? 0,
      lowest: one.lowest.trim(),
      highest: one.highest.trim(),
    })),
    measurements: draft.measurements.map(({ what, how, unit, better }) => ({
      what,
      how: how.trim(),
      unit,
      better,
    })),
    evaluators: [...draft.evaluators],
  }
}
