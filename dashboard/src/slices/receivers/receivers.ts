// Who outside is told, of what and of which rigs.
import type { Alert, Id, Receiver, Telling } from '@/api/types'
import type { MarkWords } from '@/words/marks'
import { moment } from '@/words/time'
import { said } from '@/words/said'

/** A secret as Standard Webhooks writes it, made here: 32 random bytes. */
export function newSecret(bytes = crypto.getRandomValues(new Uint8Array(32))): string {
  return `whsec_${btoa(String.fromCharCode(...bytes))}`
}

/** Of which rigs somebody is told, as one choice of a form: nothing for the whole agency. */
export const reachOf = (receiver: Pick<Receiver, 'district' | 'station'>) =>
  receiver.station ? `s/${receiver.station}` : receiver.district ? `d/${receiver.district}` : ''
export const reachFields = (reach: string): { district: Id | null; station: Id | null } => ({
  district: reach.startsWith('d/') ? reach.slice(2) : null,
  station: reach.startsWith('s/') ? reach.slice(2) : null,
})

export function receiverMark(receiver: Receiver): MarkWords {
  if (receiver.withdrawn_at) return { shape: 'ended', tone: 'quiet', word: 'Withdrawn' }
  if (receiver.switched_off) return { shape: 'barred', tone: 'stop', word: 'Switched off' }
  return { shape: 'solid', tone: 'quiet', word: 'Is told' }
}
/** Why it is not told any more, and since when; empty where it is. */
export function offWords(receiver: Receiver, now: Date): string {
  const off = receiver.switched_off
  return off ? `Since ${moment(off.since, now)}: ${said(off.why)}` : ''
}

export interface Told {
  alert: Alert
  telling: Telling
}
/** The last that a receiver was told. */
export function lastTold(alerts: readonly Alert[], receiver: Id): Told | undefined {
  let last: Told | undefined
  for (const alert of alerts) {
    if (last && last.alert.revision > alert.revision) continue
    const telling = alert.told.find((one) => one.receiver === receiver)
    if (telling) last = { alert, telling }
  }
  return last
}

export const SHOW = ['all', 'open', 'missed'] as const
export type Show = (typeof SHOW)[number]
export const SHOW_WORDS: Record<Show, string> = {
  all: 'Everything',
  open: 'Not acknowledged',
  missed: 'Not reached',
}

/** Whether sending the message again is offered: it does not wait already, nobody has acknowledged it, and nothing is known here that
 *  keeps its receiver from being told. Whether it goes is the server's answer. */
export const mayResend = (telling: Telling, receiver: Receiver | undefined) =>
  !telling.acknowledged && telling.state !== 'waiting' && !receiver?.withdrawn_at && !receiver?.switched_off
