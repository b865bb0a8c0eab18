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

/** One sentence about the whole outbox. */
export function queueWords(n: {
  waiting: number
  refused: number
  conflicts: number
  photos: number
}): string {
  const acts = (count: number) => `${count} ${count === 1 ? 'act' : 'acts'}`
  const parts: string[] = []
  if (n.conflicts) parts.push(`${acts(n.conflicts)} to decide`)
  if (n.refused) parts.push(`${n.refused} refused`)
  if (n.waiting) parts.push(`${acts(n.waiting)} waiting`)
  if (n.photos) parts.push(`${n.photos} ${n.photos === 1 ? 'photo' : 'photos'} waiting`)
  return parts.length ? parts.join(', ') : 'Nothing waits on this phone'
}
