// Field trials in words. What answers and readings come to is worked out by the server.
import type {
  BetterIs,
  CandidateResult,
  Dimension,
  FieldTrial,
  FieldTrialResult,
  FieldTrialState,
  Id,
  TrialMeasure,
} from '@/api/types'
import type { MarkWords } from './marks'

const MEASURES: Record<TrialMeasure, { word: string; dimension: Dimension }> = {
  weight: { word: 'Weight', dimension: 'mass' },
  opening_time: { word: 'Opening time', dimension: 'time' },
  closing_time: { word: 'Closing time', dimension: 'time' },
  force: { word: 'Force', dimension: 'force' },
}
export const MEASURE_LIST = Object.entries(MEASURES).map(([key, { word }]) => [key, word] as const) as [
  TrialMeasure,
  string,
][]
export const measureWord = (what: TrialMeasure) => MEASURES[what]?.word ?? what
export const measureDimension = (what: TrialMeasure): Dimension => MEASURES[what].dimension
export const BETTER_LIST: [BetterIs, string][] = [
  ['lower', 'Less is better'],
  ['higher', 'More is better'],
]
export const betterWords = (better: BetterIs) => (better === 'lower' ? 'less is better' : 'more is better')

export const trialMark = (state: FieldTrialState): MarkWords =>
  state === 'open'
    ? { shape: 'half', tone: 'weak', word: 'Open' }
    : state === 'closed'
      ? { shape: 'solid', tone: 'quiet', word: 'Closed' }
      : { shape: 'ended', tone: 'quiet', word: 'Withdrawn' }

export const isAsked = (trial: Pick<FieldTrial, 'evaluators'>, member: Id | null | undefined) =>
  Boolean(member) && trial.evaluators.some((one) => one.id === member)

export const sheetsWords = (handedIn: number, candidates: number) =>
  handedIn >= candidates
    ? 'your sheets are handed in'
    : `${candidates - handedIn} of ${candidates} ${candidates === 1 ? 'sheet' : 'sheets'} to fill in`

/** A score or a reading as it is shown: two digits after the point at most. What is compared is the server's exact number. */
export const figure = (value: number) =>
  new Intl.NumberFormat('en', { maximumFractionDigits: 2 }).format(value)

/** How evaluators' scores lie, in one sentence. */
export function spreadWords(spread: NonNullable<CandidateResult['spread']>): string {
  if (spread.count === 1) return `${figure(spread.median)}, of one evaluator alone`
  return `${figure(spread.lowest)} to ${figure(spread.highest)}, the middle half ${figure(spread.lower_quartile)} to ${figure(spread.upper_quartile)}, of ${spread.count} evaluators`
}

/** Who has not handed in about what. */
export function missingWords(trial: FieldTrial, result: Pick<FieldTrialResult, 'evaluators'>): string[] {
  const name = (number: number) => trial.candidates[number - 1]?.name ?? `candidate ${number}`
  return result.evaluators
    .filter((one) => one.missing.length)
    .map((one) =>
      one.handed_in.length
        ? `${one.evaluator.name}: nothing about ${one.missing.map(name).join(', ')}`
        : `${one.evaluator.name}: nothing handed in`,
    )
}

/** The newest first, what is open before what is over. */
export const openFirst = (all: FieldTrial[]) =>
  all.toSorted(
    (a, b) =>
      Number(a.state !== 'open') - Number(b.state !== 'open') || b.opened_at.localeCompare(a.opened_at),
  )
