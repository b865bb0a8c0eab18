// "May I use it?", read out: the word, then the reason that decides. Nothing is decided here.
import type { Defect, Piece, PieceStanding, Reason, Verdict } from '@/api/types'
import { foundWords } from './found'
import { aboutIt } from './gap'
import type { MarkWords } from './marks'
import { dateIn, dateWords, moment, spoken } from './time'

const ANSWERS: Record<Verdict, string> = {
  no: 'No',
  not_on_this_rig: 'No on this rig',
  cannot_be_confirmed: 'Cannot be confirmed',
  yes_with_limit: 'Yes, with limit',
  yes: 'Yes, records say',
}
const SHORT: Record<Verdict, MarkWords> = {
  no: { shape: 'barred', tone: 'stop', word: 'Do not use' },
  not_on_this_rig: { shape: 'open', tone: 'stop', word: 'Cannot run on this rig' },
  cannot_be_confirmed: { shape: 'unknown', tone: 'weak', word: 'Cannot be confirmed' },
  yes_with_limit: { shape: 'notched', tone: 'weak', word: 'Usable with a limit' },
  yes: { shape: 'solid', tone: 'sound', word: 'Usable, records say' },
}

/** In a list of pieces. */
export const verdictMark = (verdict: Verdict | null | undefined): MarkWords =>
  (verdict && SHORT[verdict]) || { shape: 'unknown', tone: 'quiet', word: 'Not known yet' }

export function reasonWords(
  reason: Reason,
  piece: Piece | undefined,
  now = new Date(),
  defects: Defect[] = [],
): string {
  return spoken(aboutIt(foundWords(reason, defects), piece), now)
}

/** A yes with what it rests on: the service's last check is the later of the last check and the last service, and a service is no check. */
function lookedAtWords(at: string, piece: Piece | undefined): string {
  const on = dateWords(dateIn(new Date(at)))
  const checked = piece?.checked_at
  if (checked && Date.parse(checked) >= Date.parse(at)) return `Yes, by its last check on ${on}`
  return `Yes, by its last service on ${on}${checked ? '' : '; no check is on record'}`
}

/** "No: service life ended 1 May 2019", "Yes, by its last check on 3 Nov 2026". */
export function verdictWords(
  standing: Pick<PieceStanding, 'verdict' | 'reasons' | 'last_check'>,
  piece: Piece | undefined,
  now = new Date(),
  defects: Defect[] = [],
): string {
  const answer = ANSWERS[standing.verdict] ?? 'Not known'
  const [first] = standing.reasons
  if (standing.verdict === 'yes' && standing.last_check) return lookedAtWords(standing.last_check, piece)
  return first ? `${answer}: ${reasonWords(first, piece, now, defects)}` : answer
}

/** A yes, with or without a limit. Of any other answer nothing good ends. */
export const isYes = (verdict: Verdict) => verdict === 'yes' || verdict === 'yes_with_limit'

/** Until when an answer holds by itself, and why it ends then as far as that is said. */
export function untilWords(
  until: string | null | undefined,
  verdict: Verdict,
  why?: string | null,
  now = new Date(),
): string {
  if (!until) return ''
  const reason = why ? `: ${why}` : ''
  return isYes(verdict)
    ? `Good until ${moment(until, now)}${reason}`
    : `No date on record changes this before ${moment(until, now)}${reason}`
}

/** Whether "look it over before you use it" is to be said: not where the answer is that it must not be used. */
export const mayBeUsed = (verdict: Verdict | null | undefined) =>
  verdict !== 'no' && verdict !== 'not_on_this_rig'
