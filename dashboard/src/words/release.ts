// What a return asks for, as a form: which readings, within which limits, and who signs. The server decides on what is sent.
import type { Clearance, Needed, NeededReading, TestReading } from '@/api/types'
import { humanise } from './piece'
import { quantity, valueIn } from './units'

export interface Ask {
  key: string
  label: string
  /** The unit of the value; null: answered with yes or no. */
  unit: string | null
  hint: string
  /** The least and the most that the record takes, in `unit`; null: none is known here. */
  low: number | null
  high: number | null
  /** The answer that the record takes, for yes and no. */
  sound: boolean | null
  /** What to say of a value outside. */
  bounds: string
}
export type Answers = Record<string, string>
export interface SentReading {
  measure: NeededReading['measure']
  value?: { value: number; unit: string }
  yes?: boolean
}

const UNITS: Partial<Record<NonNullable<NeededReading['dimension']>, { us: string; si: string }>> = {
  pressure: { us: 'psi', si: 'bar' },
  force: { us: 'lbf', si: 'kN' },
  time: { us: 's', si: 's' },
}
const SIGNS: Record<Needed['signs'], string> = {
  officer: 'an officer',
  technician: 'a technician of the shop',
  makers_service: 'the maker’s service, with its paper',
}
export const signsWords = (signs: Needed['signs']) => SIGNS[signs]
export const needsPaper = (needed: Needed) =>
  needed.ending === 'retires_unless_maker' || needed.signs === 'makers_service'

/** What its return and its annual service ask for together: each reading once, the stricter word. */
export function both({ release, annual }: Clearance): Needed {
  const order = ['officer', 'technician', 'makers_service'] as const
  const more = annual.readings.filter((one) => !release.readings.some((r) => r.measure === one.measure))
  return {
    ...release,
    readings: [...release.readings, ...more],
    signs: order[Math.max(order.indexOf(release.signs), order.indexOf(annual.signs))] ?? release.signs,
    manual: release.manual || annual.manual,
    cautions: [...new Set([...release.cautions, ...annual.cautions])],
  }
}

type Limits = Pick<NeededReading, 'low' | 'high'>
const boundsWords = ({ low, high }: Limits, system: 'us' | 'si') =>
  [low ? `at least ${quantity(low, system)}` : '', high ? `at most ${quantity(high, system)}` : '']
    .filter(Boolean)
    .join(' and ')
const limitsOf = (reading: Limits, unit: string | null, system: 'us' | 'si') => ({
  low: unit === null ? null : valueIn(reading.low, unit),
  high: unit === null ? null : valueIn(reading.high, unit),
  bounds: boundsWords(reading, system),
})

function hint(reading: NeededReading, system: 'us' | 'si'): string {
  const parts = [
    boundsWords(reading, system),
    reading.plate ? `its plate says ${quantity(reading.plate, system)}` : '',
    reading.baseline ? `when new ${quantity(reading.baseline, system)}` : '',
    reading.limit_on_record ? '' : 'limit not on record: see the manual',
  ]
  return parts.filter(Boolean).join(', ')
}

export const asksOf = (needed: Needed, system: 'us' | 'si'): Ask[] =>
  needed.readings.map((reading) => {
    const unit = reading.dimension ? (UNITS[reading.dimension]?.[system] ?? '') : null
    return {
      key: reading.measure,
      label: reading.label.replace(/^./, (c) => c.toUpperCase()),
      unit,
      hint: hint(reading, system),
      sound: unit === null ? (reading.answer ?? null) : null,
      ...limitsOf(reading, unit, system),
    }
  })

/** One thing that a release lacks, as a refusal names it. */
export interface Missing {
  what: string
  measure?: string | null
  low?: { value: number; unit: string } | null
  high?: { value: number; unit: string } | null
  words: string
}
/** What each measure is called and what its value measures; none: answered with yes or no. */
const MEASURES: Record<string, [string, NeededReading['dimension']]> = {
  sound_to_look: ['Looked over as a whole, nothing wrong found', null],
  relief_opens_at: ['Relief valve opens at', 'pressure'],
  pressure_reached: ['Pressure reached', 'pressure'],
  hold_seconds: ['Pressure held for', 'time'],
  leak_at_end_stop: ['Leak at the end stop', null],
  function_full_stroke: ['Full stroke both ways, stops when let go', null],
  spreading_force: ['Spreading force', 'force'],
  pulling_force: ['Pulling force', 'force'],
  push_force: ['Pushing force', 'force'],
  opening_time: ['Opening time', 'time'],
  closing_time: ['Closing time', 'time'],
  test_piece_cut: ['Maker’s test piece cut', null],
  insulation: ['Insulation test passed', null],
  charge: ['Takes and holds its charge', null],
  flushed: ['Flushed and refilled as the maker says', null],
  hour_meter: ['Hour meter', 'time'],
}

export const MEASURE_LIST = Object.keys(MEASURES)

/** What it is called; what has no name of its own is said in the step that asks for it. */
export const measureName = (measure: string) => MEASURES[measure]?.[0] ?? humanise(measure)
export const measureDimension = (measure: string) => MEASURES[measure]?.[1] ?? null

/** The readings among what is missing, as questions. */
export const asksOfMissing = (missing: Missing[], system: 'us' | 'si'): Ask[] =>
  missing.flatMap((one) => {
    const known = one.measure ? MEASURES[one.measure] : undefined
    if (!known || !one.measure) return []
    const [label, dimension] = known
    const unit = dimension ? (UNITS[dimension]?.[system] ?? '') : null
    const limits = limitsOf({ low: one.low ?? null, high: one.high ?? null }, unit, system)
    return [{ key: one.measure, label, unit, hint: limits.bounds, sound: null, ...limits }]
  })

const given = (ask: Ask, text: string | undefined) =>
  ask.unit === null ? text === 'yes' || text === 'no' : Boolean(text?.trim()) && Number.isFinite(Number(text))

/** The share by which a converted value may lie on the bound. */
const ON_THE_BOUND = 1e-8
/**
 * What is wrong with an answer, by the limits that the record gave; empty where nothing is, or nothing was answered. It only
 * marks what is about to be sent: the server decides.
 */
export function faultOf(ask: Ask, text: string | undefined): string {
  if (!given(ask, text)) return ''
  if (ask.unit === null)
    return ask.sound === null || (text === 'yes') === ask.sound
      ? ''
      : `It must be ${ask.sound ? 'yes' : 'no'}: this is a failed test`
  const value = Number(text)
  const slack = Math.abs(value) * ON_THE_BOUND
  const outside =
    (ask.low !== null && value + slack < ask.low) || (ask.high !== null && value - slack > ask.high)
  return outside ? `Outside its limits: it must be ${ask.bounds}` : ''
}
/** "Pressure reached 5,000 psi, it must be at least 10,192 psi": each answer that fails. */
export const faultsOf = (asks: Ask[], answers: Answers): string[] =>
  asks
    .filter((ask) => faultOf(ask, answers[ask.key]))
    .map((ask) =>
      ask.unit === null
        ? `${ask.label}: ${answers[ask.key]}, it must be ${ask.sound ? 'yes' : 'no'}`
        : `${ask.label}: ${Number(answers[ask.key]).toLocaleString('en')} ${ask.unit}, it must be ${ask.bounds}`,
    )

/** Labels of what nobody has answered yet. */
export const unanswered = (asks: Ask[], answers: Answers) =>
  asks.filter((ask) => !given(ask, answers[ask.key])).map((ask) => ask.label)

/** What was answered, as it is sent; what was left open is not made up. */
export const readingsOf = (asks: Ask[], answers: Answers): SentReading[] =>
  asks
    .filter((ask) => given(ask, answers[ask.key]))
    .map(({ key, unit }) =>
      unit === null
        ? { measure: key as NeededReading['measure'], yes: answers[key] === 'yes' }
        : { measure: key as NeededReading['measure'], value: { value: Number(answers[key]), unit } },
    )

/** "Pressure reached: 10,500 psi", "Leak at end stop: no". */
export function readingWords(reading: TestReading, system: 'us' | 'si'): string {
  const name = MEASURES[reading.measure]?.[0] ?? reading.what ?? humanise(reading.measure)
  const said = reading.value ? quantity(reading.value, system) : reading.yes ? 'yes' : 'no'
  return `${name}: ${said}`
}
