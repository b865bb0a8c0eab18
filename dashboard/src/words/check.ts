// Checks and their plans, as a crew says them.
import type {
  CheckOutcome,
  CheckSigner,
  EarlierReading,
  Member,
  Model,
  PlanStep,
  StepAsk,
  StepSaid,
} from '@/api/types'
import type { MarkWords } from './marks'
import { measureDimension, measureName } from './release'
import { asksForSignOff, holds } from './signoff'
import { dateIn, dateWords } from './time'
import { quantity } from './units'

const OUTCOMES: Record<CheckOutcome, MarkWords> = {
  passed: { shape: 'joined', tone: 'sound', word: 'Passed' },
  failed: { shape: 'barred', tone: 'stop', word: 'Not passed' },
  not_complete: { shape: 'half', tone: 'weak', word: 'Not complete' },
  unknown: { shape: 'unknown', tone: 'quiet', word: 'Cannot be said' },
}
export const outcomeMark = (outcome: CheckOutcome) => OUTCOMES[outcome]

const SIGNERS: Record<CheckSigner, string> = {
  member: 'signed by any trained member',
  officer: 'signed by an officer',
  technician: 'signed by a technician',
  makers_service: 'done by the maker’s service',
}
/** What a piece is to a sign-off. */
type Gear = Pick<Model, 'kind' | 'family'>
export const signerWords = (signer: CheckSigner) => SIGNERS[signer]

/** Where sign-offs of the member are kept, this gear must be among them. */
const isUnsigned = (gear: Gear, member: Pick<Member, 'sign_offs'>, today: string) =>
  member.sign_offs.length > 0 && asksForSignOff(gear.kind) && !holds(member, gear, today)

/** Why this member is not offered to sign it; empty: it is offered, and the service decides. Null: a tablet that many sign on. */
export function notYours(
  signer: CheckSigner,
  member: Pick<Member, 'role' | 'certificate' | 'sign_offs'> | null,
  gear?: Gear,
  today = dateIn(new Date()),
): string {
  if (signer === 'member')
    return member && gear && isUnsigned(gear, member, today) ? 'you are not signed off on such gear' : ''
  if (signer === 'makers_service') return 'done by the maker’s service, whose paper the shop files'
  if (signer === 'officer') return member?.role === 'crew' ? 'signed by an officer' : ''
  if (member?.role !== 'shop') return 'signed by a technician'
  return member.certificate ? '' : 'signed by a technician whose certificate is on file'
}

const UNITS: Record<string, [us: string[], si: string[]]> = {
  force: [['lbf'], ['kN']],
  length: [
    ['in', 'ft'],
    ['mm', 'm'],
  ],
  pressure: [['psi'], ['bar']],
  mass: [['lb'], ['kg']],
  time: [
    ['s', 'min'],
    ['s', 'min'],
  ],
  volume: [['US gal'], ['L']],
  flow: [['gal/min'], ['L/min']],
  power: [['hp'], ['kW']],
  energy: [['ft.lbf'], ['J']],
  speed: [['mi/h'], ['km/h']],
  count: [['stages'], ['stages']],
}
/** The units that a number may be typed in, those that the agency speaks first. */
export function unitsOf(ask: StepAsk, system: 'us' | 'si'): string[] {
  if (ask.kind !== 'number') return []
  const dimension = ask.dimension ?? measureDimension(ask.measure) ?? ''
  const [us = [], si = []] = UNITS[dimension] ?? []
  const own = system === 'us' ? us : si
  const offered = ask.units?.length ? ask.units : [...new Set([...own, ...us, ...si])]
  return offered.toSorted((a, b) => Number(own.includes(b)) - Number(own.includes(a)))
}

/** "at least 10 s", of fixed limits; what else it must keep to the service knows. */
export function limitsWords(ask: StepAsk, system: 'us' | 'si'): string {
  if (ask.kind !== 'number') return ''
  const parts = (ask.limits ?? []).flatMap((limit) => {
    if (limit.kind !== 'fixed') return []
    return [
      limit.min ? `at least ${quantity(limit.min, system)}` : '',
      limit.max ? `at most ${quantity(limit.max, system)}` : '',
    ].filter(Boolean)
  })
  const judged = (ask.limits ?? []).some((limit) => limit.kind !== 'fixed')
  return [parts.join(' and '), judged ? 'the service judges it by what is on record of this piece' : '']
    .filter(Boolean)
    .join('; ')
}

export function saidWords(said: StepSaid): string {
  if (said.kind === 'yes_no') return said.yes ? 'Yes' : 'No'
  if (said.kind === 'choice') return said.option
  if (said.kind === 'number') return `${said.value.value} ${said.value.unit}`
  return said.kind === 'photo' ? 'A photo' : said.text
}

/** What must be answered for a sound piece, where the step says so: for paper and for whoever checks. */
export function mustBe(ask: StepAsk): string {
  if (ask.kind === 'yes_no') return ask.sound ? 'yes' : 'no'
  return ask.kind === 'choice' ? ask.passing.join(' or ') : ''
}

export const sourceWords = (step: PlanStep) =>
  step.source.kind === 'published' ? `Published: ${step.source.text}` : 'Common practice, no source'

/** Earlier readings of what a step asks for, newest first. */
export const readingsFor = (step: PlanStep, readings: EarlierReading[], most = 3): EarlierReading[] =>
  readings
    .filter(({ sort }) => {
      if (step.ask.kind !== 'number' || sort.measure !== step.ask.measure) return false
      return sort.measure !== 'other' || sort.step === step.id
    })
    .toSorted((a, b) => b.on.localeCompare(a.on))
    .slice(0, most)

/** "Last: 4.1 s on 12 Oct 2026, before that 4.0 s on 5 Oct 2026". */
export function lastWords(readings: EarlierReading[], system: 'us' | 'si'): string {
  const one = ({ value, on }: EarlierReading) => `${quantity(value, system)} on ${dateWords(on)}`
  const [last, ...before] = readings
  if (!last) return 'No earlier reading on record.'
  return `Last: ${one(last)}${before.length ? `, before that ${before.map(one).join(', ')}` : ''}.`
}

export const readingName = (sort: EarlierReading['sort'], steps: { step: string; title: string }[]) =>
  sort.measure === 'other'
    ? (steps.find((one) => one.step === sort.step)?.title ?? 'Reading')
    : measureName(sort.measure)
