// What a return asks for, as a form: which readings, within which limits, and who signs. The server decides on what is sent.
import type { Clearance, Needed, NeededReading, TestReading } from '@/api/types'
import { humanise } from './piece'
import { quantity } from './units'

export interface Ask {
  key: string
  label: string
  /** The unit of the value; null: answered with yes or no. */
  unit: string | null
  hint: string
}
export type Answers = Record<string, string>
export interface SentReading {
  measure: string
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

function hint(reading: NeededReading, system: 'us' | 'si'): string {
  const parts = [
    reading.low ? `at least ${quantity(reading.low, system)}` : '',
    reading.high ? `at most ${quantity(reading.high, system)}` : '',
    reading.plate ? `its plate says ${quantity(reading.plate, system)}` : '',
    reading.baseline ? `when new ${quantity(reading.baseline, system)}` : '',
    reading.limit_on_record ? '' : 'limit not on record: see the manual',
  ]
  return parts.filter(Boolean).join(', ')
}

export const asksOf = (needed: Needed, system: 'us' | 'si'): Ask[] =>
  needed.readings.map((reading) => ({
    key: reading.measure,
    label: reading.label.replace(/^./, (c) => c.toUpperCase()),
    unit: reading.dimension ? (UNITS[reading.dimension]?.[system] ?? '') : null,
    hint: hint(reading, system),
  }))

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
}

/** The readings among what is missing, as questions. */
export const asksOfMissing = (missing: Missing[], system: 'us' | 'si'): Ask[] =>
  missing.flatMap((one) => {
    const known = one.measure ? MEASURES[one.measure] : undefined
    if (!known || !one.measure) return []
    const [label, dimension] = known
    const bounds = [
      one.low ? `at least ${quantity(one.low, system)}` : '',
      one.high ? `at most ${quantity(one.high, system)}` : '',
    ]
    const unit = dimension ? (UNITS[dimension]?.[system] ?? '') : null
    return [{ key: one.measure, label, unit, hint: bounds.filter(Boolean).join(', ') }]
  })

const given = (ask: Ask, text: string | undefined) =>
  ask.unit === null ? text === 'yes' || text === 'no' : Boolean(text?.trim()) && Number.isFinite(Number(text))

/** Labels of what nobody has answered yet. */
export const unanswered = (asks: Ask[], answers: Answers) =>
  asks.filter((ask) => !given(ask, answers[ask.key])).map((ask) => ask.label)

/** What was answered, as it is sent; what was left open is not made up. */
export const readingsOf = (asks: Ask[], answers: Answers): SentReading[] =>
  asks
    .filter((ask) => given(ask, answers[ask.key]))
    .map(({ key, unit }) =>
      unit === null
        ? { measure: key, yes: answers[key] === 'yes' }
        : { measure: key, value: { value: Number(answers[key]), unit } },
    )

/** "Pressure reached: 10,500 psi", "Leak at end stop: no". */
export function readingWords(reading: TestReading, system: 'us' | 'si'): string {
  const name = MEASURES[reading.measure]?.[0] ?? reading.what ?? humanise(reading.measure)
  const said = reading.value ? quantity(reading.value, system) : reading.yes ? 'yes' : 'no'
  return `${name}: ${said}`
}
