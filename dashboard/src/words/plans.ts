// Check plans in words: how often, who signs, what a step asks and what passes. Nothing is judged here.
import type {
  CheckEvent,
  CheckPlanBody,
  CheckProof,
  CheckRhythm,
  CheckSigner,
  Dimension,
  Measure,
  PlanStep,
  StepAsk,
  StepDrive,
  StepLimit,
  StepStage,
} from '@/api/types'
import { readRule, ruleWords } from './recur'
import { kindWord } from './piece'
import { MEASURE_LIST, measureDimension, measureName } from './release'
import { dateWords } from './time'
import { quantity } from './units'

export type Units = 'us' | 'si'
const keys = <K extends string>(words: Record<K, unknown>) => Object.keys(words) as K[]

/** "a, b and c". */
export const listed = (all: string[], last = 'and') =>
  all.length > 1 ? `${all.slice(0, -1).join(', ')} ${last} ${all[all.length - 1]}` : (all[0] ?? '')
export const capital = (words: string) => words.charAt(0).toUpperCase() + words.slice(1)

export const SIGNERS: Record<CheckSigner, string> = {
  member: 'Any member who is signed off on it',
  officer: 'An officer',
  technician: 'A technician with a valid certificate',
  makers_service: 'The maker’s service, with its paper',
}
export const SIGNER_LIST = keys(SIGNERS)
/** "Signed by an officer". */
export const signedBy = (signer: CheckSigner) =>
  `Signed by ${SIGNERS[signer].charAt(0).toLowerCase()}${SIGNERS[signer].slice(1)}`

export const PROOFS: Record<CheckProof, string> = {
  checked: 'that it was checked',
  tried_aboard: 'that it was tried on this rig',
  serviced: 'that its annual service was done',
  baseline: 'how it was when new, which later readings are compared with',
}
export const PROOF_LIST = keys(PROOFS)

export const EVENTS: Record<CheckEvent, string> = {
  drop: 'a drop',
  overload: 'an overload',
  fire: 'a fire',
  flood: 'a flood',
  fluid_mix: 'a mix of fluids',
  run_over: 'being run over',
  trapped_pressure: 'trapped pressure',
}
export const EVENT_LIST = keys(EVENTS)

export const STAGES: Record<StepStage, string> = {
  look: 'A look',
  function: 'A function',
  load: 'A load test, only after every look-over was clean',
}
export const STAGE_LIST = keys(STAGES)
export const DRIVES: Record<StepDrive, string> = {
  hose: 'On a hose',
  battery: 'With a battery',
  engine: 'With an engine',
  cable: 'On a cable',
  hand: 'By hand',
}
export const DRIVE_LIST = keys(DRIVES)

export const measureWord = (measure: Measure) =>
  measure === 'other' ? 'Something else' : measureName(measure)
export const NUMBERS = [...MEASURE_LIST.filter((one) => measureDimension(one)), 'other'] as Measure[]
export const YES_NO = MEASURE_LIST.filter((one) => !measureDimension(one)) as Measure[]

const DIMENSIONS: Record<Dimension, [string, string[]]> = {
  force: ['A force', ['lbf', 'kN', 'N']],
  length: ['A length', ['in', 'ft', 'mm', 'cm', 'm']],
  pressure: ['A pressure', ['psi', 'bar', 'kPa', 'MPa']],
  mass: ['A weight', ['lb', 'kg']],
  time: ['A time', ['s', 'min', 'h']],
  volume: ['A volume', ['US gal', 'qt', 'fl oz', 'L', 'mL']],
  flow: ['A flow', ['gal/min', 'L/min']],
  power: ['A power', ['hp', 'kW']],
  energy: ['An energy or torque', ['ft.lbf', 'J']],
  speed: ['A speed', ['mi/h', 'km/h']],
  count: ['A count', ['stages']],
}
export const DIMENSION_LIST = keys(DIMENSIONS)
export const dimensionWord = (one: Dimension) => DIMENSIONS[one][0]
export const unitsOf = (dimension: Dimension | null | undefined) =>
  dimension ? DIMENSIONS[dimension][1] : []
export const dimensionOf = (ask: { measure: Measure; dimension?: Dimension | null }) =>
  (measureDimension(ask.measure) as Dimension | null) ?? ask.dimension ?? null

const RATED = {
  spreading_force: 'spreading force',
  pulling_force: 'pulling force',
  push_force: 'pushing force',
  nominal_pressure: 'nominal pressure',
} as const
export const RATED_LIST = keys(RATED)
export const ratedWord = (one: keyof typeof RATED) => RATED[one]

export function limitWords(limit: StepLimit, units: Units): string {
  switch (limit.kind) {
    case 'fixed':
      return listed(
        [
          limit.min ? `at least ${quantity(limit.min, units)}` : '',
          limit.max ? `at most ${quantity(limit.max, units)}` : '',
        ].filter(Boolean),
      )
    case 'share_of_rating':
      return `${limit.bound === 'at_least' ? 'at least' : 'at most'} ${limit.percent} % of the ${RATED[limit.of]} on its plate`
    case 'makers_bound':
      return 'within what its maker’s manual names'
    case 'drift':
      return `${
        {
          up: `at most ${limit.percent} % above`,
          down: `at most ${limit.percent} % below`,
          either: `within ${limit.percent} % of`,
        }[limit.way]
      } what it was when new`
  }
}

/** What is asked, and what passes: "A number: opening time, at least 2 s". */
export function askWords(ask: StepAsk, units: Units): string {
  switch (ask.kind) {
    case 'yes_no':
      return `Yes or no; sound is “${ask.sound ? 'yes' : 'no'}”`
    case 'choice':
      return `One of ${listed(
        ask.options.map((one) => `“${one}”`),
        'or',
      )}; ${listed(ask.passing.map((one) => `“${one}”`))} ${ask.passing.length > 1 ? 'pass' : 'passes'}`
    case 'number': {
      const limits = (ask.limits ?? []).map((one) => limitWords(one, units))
      const what = ask.measure === 'other' ? '' : `, ${measureWord(ask.measure).toLowerCase()}`
      return `A number${what}: ${limits.length ? listed(limits) : 'recorded as read, any value passes'}`
    }
    case 'photo':
      return 'A photo'
    case 'note':
      return 'A few words'
  }
}

export const sourceWords = (step: PlanStep) =>
  step.source.kind === 'published' ? `Source: ${step.source.text}` : 'Common practice, no source'

export function rhythmWords(rhythm: CheckRhythm): string {
  switch (rhythm.every) {
    case 'use':
      return 'After each use'
    case 'shift':
      return 'Each duty day'
    case 'months':
      return rhythm.months === 1
        ? 'A month after the last pass'
        : `${rhythm.months} months after the last pass`
    case 'uses':
      return `After ${rhythm.uses} uses`
    case 'hours':
      return `After ${rhythm.hours} running hours`
    case 'event':
      return `After ${listed(
        rhythm.events.map((one) => EVENTS[one]),
        'or',
      )}, before the next use`
    case 'calendar': {
      const read = readRule(rhythm.rule, rhythm.start)
      return read
        ? ruleWords(read)
        : `By a rule of its own, ${rhythm.rule}, from ${dateWords(rhythm.start)} ${rhythm.start.slice(11, 16)}`
    }
  }
}

/** By which lists are grouped and filtered: the usual rhythms, in the order in which they come round. */
export function rhythmGroup(rhythm: CheckRhythm): string {
  if (rhythm.every === 'calendar')
    return (
      { DAILY: 'Daily', WEEKLY: 'Weekly', MONTHLY: 'Monthly', YEARLY: 'Yearly' }[
        /FREQ=(\w+)/.exec(rhythm.rule)?.[1] ?? ''
      ] ?? 'By a rule'
    )
  if (rhythm.every === 'months') return `Every ${rhythm.months} months`
  return {
    use: 'After use',
    shift: 'Daily',
    uses: 'By uses',
    hours: 'By hours',
    event: 'After something happened',
  }[rhythm.every]
}

/** The order in which they come round: after use first, each day, each week, what comes once in years last. */
export function rhythmOrder(rhythm: CheckRhythm): number {
  switch (rhythm.every) {
    case 'use':
      return 0
    case 'shift':
      return 1
    case 'calendar':
      return (
        { DAILY: 1, WEEKLY: 7, MONTHLY: 30, YEARLY: 365 }[/FREQ=(\w+)/.exec(rhythm.rule)?.[1] ?? ''] ?? 400
      )
    case 'months':
      return rhythm.months * 30
    case 'uses':
    case 'hours':
      return 8_000
    case 'event':
      return 9_000
  }
}

export const graceWords = (days: number) =>
  days === 0 ? 'No grace' : days === 1 ? '1 day of grace' : `${days} days of grace`
export const stepsWords = (steps: number) => (steps === 1 ? '1 step' : `${steps} steps`)

export function coversWords(
  covers: CheckPlanBody['covers'],
  model: (id: string) => string | undefined,
): string {
  const models = (covers.models ?? []).map((id) => model(id) ?? 'a model that is not here')
  const kinds = (covers.kinds ?? []).map((kind) => kindWord(kind))
  const rest = models.length > 4 ? [`${models.length - 3} more models`] : []
  const named = listed([...models.slice(0, rest.length ? 3 : 4), ...rest])
  if (!kinds.length) return named ? `Only ${named}` : 'Nothing'
  return named ? `${listed(kinds)}: only ${named}` : listed(kinds)
}
