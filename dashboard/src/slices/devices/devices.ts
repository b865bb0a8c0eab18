// What the screens of devices know of the contract, and the words for it.
import { wire } from '@/api/client'
import type { Device, Id, Problem } from '@/api/types'
import { straight } from '@/store/secret'
import type { MarkWords } from '@/words/marks'

export const enrol = (kind: Device['kind'], station?: Id) =>
  wire.POST('/v1/enrolments', { body: { kind, ...(station ? { station } : {}) } })

export const setPin = (pin: string): Promise<Problem | null> =>
  straight({ kind: 'member.set_pin', body: { pin } })

export function deviceMark(device: Device): MarkWords {
  return device.state === 'revoked'
    ? { shape: 'ended', tone: 'quiet', word: 'Revoked' }
    : { shape: 'solid', tone: 'sound', word: device.kind === 'tablet' ? 'Shared tablet' : 'Phone' }
}

/** "9:05" left of a code; nothing once it is over. */
export function left(until: string, now: number): string {
  const seconds = Math.floor((Date.parse(until) - now) / 1000)
  if (!(seconds > 0)) return ''
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, '0')}`
}

/** A code as people type it: lower case, with or without the dash, or the whole address. */
export function codeOf(text: string): string {
  const plain = (text.includes('#') ? text.slice(text.lastIndexOf('#') + 1) : text)
    .toUpperCase()
    .replace(/[^A-Z0-9]/g, '')
  return plain.length > 4 ? `${plain.slice(0, 4)}-${plain.slice(4, 8)}` : plain
}

/** Six digits that are not the first ones somebody else would try. */
export function pinFault(pin: string, again: string): string {
  if (!/^\d{6}$/.test(pin)) return 'Six digits, please.'
  const steps = new Set([...pin.slice(1)].map((digit, i) => Number(digit) - Number(pin[i])))
  if (steps.size === 1 && [-1, 0, 1].some((step) => steps.has(step)))
    return 'Too easy to guess: not all alike, not in a row.'
  return pin === again ? '' : 'The two are not the same.'
}
