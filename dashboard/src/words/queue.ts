// The states of what waits on this phone, as a word, a shape and a tone.
import type { MarkWords } from './marks'

const MARKS: Record<string, Omit<MarkWords, 'word'>> = {
  waiting: { shape: 'steps-1', tone: 'quiet' },
  sending: { shape: 'steps-3', tone: 'quiet' },
  blocked: { shape: 'held', tone: 'quiet' },
  sent: { shape: 'steps-4', tone: 'sound' },
  refused: { shape: 'barred', tone: 'stop' },
  conflict: { shape: 'half', tone: 'weak' },
}
export const queueMark = (state: string, word: string): MarkWords => ({
  ...(MARKS[state] ?? { shape: 'unknown', tone: 'quiet' }),
  word,
})

/** What became of it, once it does not wait any more. */
const DONE = {
  sent: { shape: 'steps-4', tone: 'sound', word: 'Reached the server' },
  refused: { shape: 'barred', tone: 'stop', word: 'Not accepted' },
  conflict: { shape: 'half', tone: 'weak', word: 'Something newer took its place' },
  withdrawn: { shape: 'ended', tone: 'quiet', word: 'Withdrawn, never sent' },
} as const satisfies Record<string, MarkWords>
export const doneMark = (how: keyof typeof DONE): MarkWords => DONE[how]

/** What may be said of a phone on which nothing waits: that all reached the server only where all did. */
export function nothingWaitsWords(how: readonly (keyof typeof DONE)[]): string {
  if (!how.length) return 'Nothing was reported from this phone yet.'
  const lost = how.filter((one) => one !== 'sent').length
  if (!lost) return 'What you reported has reached the server.'
  return `Nothing waits. ${lost} of the last ${how.length} did not reach the records: see below.`
}

/** One sentence about the whole outbox. */
export function queueWords(n: {
  waiting: number
  refused: number
  conflicts: number
  photos: number
}): string {
  const reports = (count: number) => `${count} ${count === 1 ? 'report' : 'reports'}`
  const parts: string[] = []
  if (n.conflicts) parts.push(`${reports(n.conflicts)} to decide`)
  if (n.refused) parts.push(`${n.refused} not accepted`)
  if (n.waiting) parts.push(`${reports(n.waiting)} waiting`)
  if (n.photos) parts.push(`${n.photos} ${n.photos === 1 ? 'photo' : 'photos'} waiting`)
  return parts.length ? parts.join(', ') : 'Nothing waits on this phone'
}
