// What receivers outside the service were told, and how far it has come.
import type { Alert, AlertStands, ChangeKind, Telling } from '@/api/types'
import type { MarkWords } from './marks'
import { said } from './said'
import { dateWords, moment } from './time'

const STANDS: Record<AlertStands, string> = {
  out_of_service: 'out of service',
  none: 'none',
  limited: 'limited',
  full: 'full',
  heavy: 'heavy',
  short: 'short of full rigs',
  enough: 'enough full rigs',
}
const SHAPES: Record<AlertStands, Omit<MarkWords, 'word'>> = {
  out_of_service: { shape: 'barred', tone: 'stop' },
  none: { shape: 'open', tone: 'stop' },
  limited: { shape: 'half', tone: 'weak' },
  full: { shape: 'joined', tone: 'sound' },
  heavy: { shape: 'joined', tone: 'sound' },
  short: { shape: 'open', tone: 'stop' },
  enough: { shape: 'joined', tone: 'sound' },
}
const capital = (words: string) => words.charAt(0).toUpperCase() + words.slice(1)

type Stood = Pick<Alert, 'after'> & Partial<Pick<Alert, 'confirmed' | 'confirmed_full' | 'min_full'>>
/** What is so by the records alone; an alert from before this was told says nothing of it. */
function unproven({ after, confirmed, confirmed_full, min_full }: Stood): string {
  if (after === 'enough')
    return (confirmed_full ?? min_full ?? 0) < (min_full ?? 0) ? ', not all confirmed' : ''
  return confirmed === false ? ', not confirmed' : ''
}
/** What it became: what is full by the records alone is not marked as sound. */
export function standsMark(alert: Stood): MarkWords {
  const { after } = alert
  const known = SHAPES[after] ?? { shape: 'unknown', tone: 'quiet' }
  const doubt = unproven(alert)
  return {
    shape: known.shape,
    tone: doubt && known.tone === 'sound' ? 'weak' : known.tone,
    word: capital(STANDS[after] ?? after) + doubt,
  }
}
/** "since 14:20, full before". */
export const turnWords = (alert: Pick<Alert, 'at' | 'before'>, now = new Date()) =>
  `since ${moment(alert.at, now)}, ${STANDS[alert.before] ?? alert.before} before`
/** "full since 15:10": what became of it later. */
export function laterWords(alert: Stood & Pick<Alert, 'at'>, now = new Date()): string {
  const doubt = unproven(alert)
  return `${STANDS[alert.after] ?? alert.after}${doubt && `${doubt},`} since ${moment(alert.at, now)}`
}
export const backWords = (day: string | null | undefined) =>
  day ? `The shops expect what it lacks back on ${dateWords(day)}.` : ''

export const CHANGES: readonly ChangeKind[] = ['rig_falls', 'rig_rises', 'district_short', 'district_enough']
const CHANGE_WORDS: Record<ChangeKind, string> = {
  rig_falls: 'A rig can do less, or is taken out of service',
  rig_rises: 'A rig can do more, or is back in service',
  district_short: 'A district falls short of full rigs',
  district_enough: 'A district has enough full rigs again',
}
export const changeWords = (change: ChangeKind) => CHANGE_WORDS[change] ?? change
const SHORT: Record<ChangeKind, string> = {
  rig_falls: 'rigs that can do less',
  rig_rises: 'rigs that can do more again',
  district_short: 'districts that fall short',
  district_enough: 'districts that have enough again',
}
/** "rigs that can do less, districts that fall short". */
export const changesWords = (changes: readonly ChangeKind[]) =>
  changes.map((one) => SHORT[one] ?? one).join(', ')

/** By what way somebody is told. */
const WAYS: Record<Telling['way'], string> = {
  webhook: 'by web message',
  email: 'by e-mail',
  phone: 'by a notice on their phone',
}
export const wayWords = (way: Telling['way']) => WAYS[way] ?? way

const MARKS: Record<Telling['state'], MarkWords> = {
  waiting: { shape: 'steps-1', tone: 'quiet', word: 'Waits to be sent' },
  failing: { shape: 'held', tone: 'weak', word: 'Not reached yet' },
  taken: { shape: 'steps-3', tone: 'weak', word: 'Reached, not acknowledged' },
  given_up: { shape: 'barred', tone: 'stop', word: 'Not reached, given up' },
  stopped: { shape: 'barred', tone: 'stop', word: 'Not told' },
}
const BRIEF: Record<Telling['state'], string> = {
  waiting: '',
  failing: 'Tell them by telephone or radio meanwhile.',
  taken: 'Nobody there has said that they know.',
  given_up: 'Tell them by telephone or radio.',
  stopped: 'Tell them by telephone or radio.',
}
export interface Brief {
  key: string
  names: string
  mark: MarkWords
  words: string
}
/** The same for a board: those who stand alike in one line, who was not reached first. */
export function briefly(told: readonly Telling[]): Brief[] {
  const by = new Map<Telling['state'], Telling[]>()
  for (const one of told) by.set(one.state, [...(by.get(one.state) ?? []), one])
  return [...by]
    .toSorted(([, a], [, b]) => Number(b.some(notReached)) - Number(a.some(notReached)))
    .flatMap(([state, list]) =>
      list[0]
        ? {
            key: state,
            names: list.map((one) => one.name).join(', '),
            mark: tellingMark(list[0]),
            words: BRIEF[state] ?? '',
          }
        : [],
    )
}

export function tellingMark(one: Telling): MarkWords {
  if (one.acknowledged) return { shape: 'steps-4', tone: 'sound', word: 'Acknowledged' }
  if (one.way === 'phone' && one.state === 'taken') return { ...MARKS.taken, word: 'Sent, not seen yet' }
  // A relay that takes mail says nothing of who gets it.
  if (one.way === 'email' && one.state === 'taken') return { ...MARKS.taken, word: 'Sent, not acknowledged' }
  return MARKS[one.state] ?? { shape: 'unknown', tone: 'quiet', word: one.state }
}
/** Not even their machine has it: somebody has to tell them by another way. */
export const notReached = (one: Telling) =>
  !one.acknowledged && (one.state === 'failing' || one.state === 'given_up' || one.state === 'stopped')

/** What stood in the way, as a person would say it; what no sentence is known for stays as the machine said it. */
const PLAIN: [RegExp, string][] = [
  [/look ?up|dns|name or service/i, 'its address leads nowhere'],
  [/refused/i, 'nothing answers at its address'],
  [/certificate|tls|handshake/i, 'its certificate is not trusted'],
  [/answered 40[13]\b/, 'its machine does not accept us: is the secret right?'],
  [/answered 404\b/, 'nothing takes messages at its address'],
  [/answered 5\d\d\b/, 'its machine has a fault'],
]
function problemSaid(problem: string | null): string {
  const words = problem?.trim().replace(/\.$/, '') ?? ''
  const plain = PLAIN.find(([pattern]) => pattern.test(words))?.[1]
  return (plain ?? words) ? `: ${plain ?? words}` : ''
}

/** Who was told, when, by what way, and what came of it. */
export function tellingWords(one: Telling, now = new Date()): string {
  const way = wayWords(one.way)
  if (one.acknowledged) {
    const { at, by, through, note } = one.acknowledged
    const when = moment(at, now)
    const who = by.name || 'somebody'
    if (one.member && by.id === one.member) return `${way}. ${who} has seen it, ${when}.`
    if (through !== 'member')
      return `${way}. ${who} acknowledged it at ${when}${through === 'answer' ? ', in the answer' : ''}.`
    return `${who} confirmed at ${when} that they know${note ? `: ${said(note)}` : ''}.`
  }
  const since = moment(one.since, now)
  const why = problemSaid(one.problem)
  switch (one.state) {
    case 'waiting':
      return `${way}, since ${since}.`
    case 'failing':
      return `${way}, since ${since}${why}. It is tried again by itself for a day. Tell them by telephone or radio meanwhile.`
    case 'taken':
      if (one.way === 'phone')
        return `${way}. It left at ${moment(one.taken_at ?? one.since, now)}; they have not said that they saw it.`
      return `${way}. Their machine took it at ${moment(one.taken_at ?? one.since, now)}; nobody there has said that they know.`
    case 'given_up':
      return `${way}. It was tried for a day, until ${since}${why}. Tell them by telephone or radio.`
    default:
      return `Nothing was sent${why}. Tell them by telephone or radio.`
  }
}
