// What a trial comes to, as lines: where evaluators differ, and the file for the purchase.
import type { FieldTrial, FieldTrialResult } from '@/api/types'
import { betterWords, measureWord, trialMark } from '@/words/trial'

type Cell = string | number | null
type Answers = FieldTrialResult['candidates'][number]['questions'][number]['answers']

export const pointsWords = (points: number | null) => (points === null ? 'no answer' : `${points} of 5`)

export interface Differing {
  candidate: number
  question: number
  text: string
  answers: Answers
}
/** Where two or more points lie between evaluators, in the order of the trial. */
export const differing = (trial: FieldTrial, result: FieldTrialResult): Differing[] =>
  result.candidates.flatMap(({ candidate, questions }) =>
    questions
      .filter((one) => one.dissent)
      .map(({ question, answers }) => ({
        candidate,
        question,
        text: trial.questions[question - 1]?.text ?? '',
        answers,
      })),
  )

/** The whole trial for a spreadsheet: its head, what it comes to, two by two, what was measured, every answer, every reading. */
export function fileRows(
  agency: string,
  trial: FieldTrial,
  result: FieldTrialResult,
  moment: (at: string) => string,
): Cell[][] {
  const name = (n: number) => trial.candidates[n - 1]?.name ?? ''
  const head: Cell[][] = [
    ['Field trial', trial.name],
    ['Agency', agency],
    ['State', trialMark(trial.state).word],
    ['Opened', moment(trial.opened_at), trial.opened_by.name],
    ...(trial.ended_at
      ? [[trialMark(trial.state).word, moment(trial.ended_at), trial.ended_by?.name ?? '']]
      : []),
    ...(trial.conclusion ? [['Conclusion', trial.conclusion]] : []),
    ...result.evaluators.map((one): Cell[] => [
      'Evaluator',
      one.evaluator.name,
      `${one.handed_in.length} of ${trial.candidates.length} sheets handed in`,
    ]),
  ]
  const scores: Cell[][] = [
    ['Candidate', 'Place', 'Evaluators', 'Lowest', 'Lower quartile', 'Median', 'Upper quartile', 'Highest'],
    ...result.candidates.map(({ candidate, place_words, spread }): Cell[] => [
      name(candidate),
      place_words,
      spread?.count ?? 0,
      spread?.lowest ?? null,
      spread?.lower_quartile ?? null,
      spread?.median ?? null,
      spread?.upper_quartile ?? null,
      spread?.highest ?? null,
    ]),
  ]
  const pairs: Cell[][] = [['Two by two'], ...result.pairs.map((one): Cell[] => [one.words])]
  const measured: Cell[][] = [
    [
      'Candidate',
      'Measured',
      'How',
      'Better',
      'Unit',
      'Readings',
      'Mean',
      'Deviation (n-1)',
      'Lowest',
      'Highest',
    ],
    ...result.candidates.flatMap(({ candidate, measurements }) =>
      measurements.map(({ measurement, unit, measured: it }): Cell[] => {
        const of = trial.measurements[measurement - 1]
        return [
          name(candidate),
          of ? measureWord(of.what) : '',
          of?.how ?? '',
          of ? betterWords(of.better) : '',
          unit,
          it?.count ?? 0,
          it?.mean ?? null,
          it?.deviation ?? null,
          it?.lowest ?? null,
          it?.highest ?? null,
        ]
      }),
    ),
  ]
  const answers: Cell[][] = [
    [
      'Candidate',
      'Question',
      'Weight',
      '1 means',
      '5 means',
      'Evaluator',
      'Points',
      'Words',
      'Two or more apart',
    ],
    ...result.candidates.flatMap(({ candidate, questions }) =>
      questions.flatMap(({ question, answers, dissent }) =>
        answers.map((one): Cell[] => {
          const of = trial.questions[question - 1]
          return [
            name(candidate),
            of?.text ?? '',
            of?.weight ?? null,
            of?.lowest ?? '',
            of?.highest ?? '',
            one.evaluator.name,
            one.points ?? 'no answer',
            one.words ?? '',
            dissent ? 'yes' : 'no',
          ]
        }),
      ),
    ),
  ]
  const means: Cell[][] = [
    ['Candidate', 'Evaluator', 'Weighted mean', 'Answered', 'Missing'],
    ...result.candidates.flatMap(({ candidate, scores }) =>
      scores.map((one): Cell[] => [name(candidate), one.evaluator.name, one.mean, one.answered, one.missing]),
    ),
  ]
  const readings: Cell[][] = [
    ['Candidate', 'Measured', 'Value', 'Unit', 'Taken', 'By', 'Struck out because'],
    ...result.candidates.flatMap(({ candidate, measurements }) =>
      measurements.flatMap(({ measurement, readings }) =>
        readings.map((one): Cell[] => {
          const of = trial.measurements[measurement - 1]
          return [
            name(candidate),
            of ? measureWord(of.what) : '',
            one.value.value,
            one.value.unit,
            moment(one.taken_at),
            one.taken_by.name,
            one.struck_reason ?? '',
          ]
        }),
      ),
    ),
  ]
  return [head, scores, pairs, means, measured, answers, readings].flatMap((part, n) =>
    n ? [[], ...part] : part,
  )
}
