// One evaluator's sheet about one candidate while it is filled in, on this phone.
import type { BodyOf } from 'fullset-client'
import type { FieldTrial, Id, Quantity, TrialMeasurement } from '@/api/types'
import { readQuantity, type Read } from '@/words/figures'
import { measureDimension } from '@/words/trial'

export interface Given {
  /** Null: looked at, and no answer. Undefined: words alone, so far. */
  points: number | null | undefined
  words: string
}
export interface Taken extends Quantity {
  /** The id that it was sent under. */
  id?: Id | undefined
}
/** A reading that the service did not take. */
export interface Refused {
  /** Which measurement, counted from 0. */
  n: number
  value: Quantity
  why: string
}
export interface Paper {
  trial: Id
  /** Counted from 1. */
  candidate: number
  /** One for each question; null: not come to yet. */
  answers: (Given | null)[]
  /** What was read of each measurement and sent, in the order in which it was taken. */
  readings: Taken[][]
  /** What of it the service refused: it counts for nothing. */
  refused?: Refused[] | undefined
  /** Which screen was open: the questions, then the measurements, then the end. */
  at: number
}
export const MOST_REPEATS = 5
export const MOST_WORDS = 500
export const POINTS = [1, 2, 3, 4, 5] as const

export const begin = (trial: FieldTrial, candidate: number): Paper => ({
  trial: trial.id,
  candidate,
  answers: trial.questions.map(() => null),
  readings: trial.measurements.map(() => []),
  at: 0,
})

export type Screen = { is: 'question'; n: number } | { is: 'measurement'; n: number } | { is: 'end' }
/** The screen of a place, whatever place was kept. */
export function screenAt(trial: FieldTrial, at: number): Screen {
  const [questions, all] = [trial.questions.length, trial.questions.length + trial.measurements.length]
  if (at >= 0 && at < questions) return { is: 'question', n: at }
  return at >= questions && at < all ? { is: 'measurement', n: at - questions } : { is: 'end' }
}
export const screensOf = (trial: FieldTrial) => trial.questions.length + trial.measurements.length

export const give = (paper: Paper, n: number, given: Given): Paper => ({
  ...paper,
  answers: paper.answers.map((one, at) => (at === n ? given : one)),
})
export const take = (paper: Paper, n: number, value: Taken): Paper => ({
  ...paper,
  readings: paper.readings.map((one, at) => (at === n ? [...one, value] : one)),
})
/** The sheet without a reading that was refused, which stands beside it with its reason; the same sheet where it has none of that id. */
export function refuse(paper: Paper, id: Id, why: string): Paper {
  const n = paper.readings.findIndex((all) => all.some((one) => one.id === id))
  const gone = paper.readings[n]?.find((one) => one.id === id)
  if (!gone) return paper
  const { value, unit } = gone
  return {
    ...paper,
    readings: paper.readings.map((all) => all.filter((one) => one.id !== id)),
    refused: [...(paper.refused ?? []), { n, value: { value, unit }, why }],
  }
}
/** Words without points, and nobody said that there is no answer: the question is still open. */
export const halfSaid = (given: Given | null | undefined) =>
  Boolean(given && given.points === undefined && given.words.trim())
export const answered = (paper: Paper) =>
  paper.answers.filter((one) => one?.points !== null && one?.points !== undefined).length
export const begun = (paper: Paper | undefined) =>
  paper ? paper.answers.some(Boolean) || paper.readings.some((one) => one.length) : false

export const handInBody = (paper: Paper): BodyOf<'field_trial.hand_in'> => ({
  id: paper.trial,
  candidate: paper.candidate,
  answers: paper.answers.map((one) => ({
    points: one?.points ?? null,
    words: one?.words.trim() || null,
  })),
})

/** What was typed off scale, watch or gauge. A number alone is one in the unit of the measurement; one that can be meant in two ways is
 *  asked about. */
export function readReading(text: string, of: TrialMeasurement): Read {
  const typed = text.trim()
  const bare = /\d/.test(typed) && /^[\d\s.,]+$/.test(typed)
  return readQuantity(bare ? `${typed} ${of.unit}` : typed, measureDimension(of.what))
}
