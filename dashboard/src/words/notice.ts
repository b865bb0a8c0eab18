// Safety notices in words: what one asks, how far it has come, and what was last said of a piece. Whether a piece is affected and what
// that does to it is the server's to say.
import type { Notice, NoticeAction, NoticeMark, NoticeProgress, PieceStanding } from '@/api/types'
import type { MarkWords } from './marks'
import { said } from './said'
import { dateWords } from './time'

/** "Stop use", "Use only like this: “…”", "Inspect by 31 Jan 2027". */
export function askWords(action: NoticeAction): string {
  switch (action.do) {
    case 'stop_use':
      return 'Stop use'
    case 'limit':
      return `Use only like this: ${said(action.words)}`
    case 'inspect_by':
      return `Inspect by ${dateWords(action.by)}`
    default:
      return 'Read the notice: this page does not know what it asks'
  }
}

export function askMark(notice: Pick<Notice, 'action' | 'withdrawn_at'>): MarkWords {
  const word = askWords(notice.action)
  if (notice.withdrawn_at) return { shape: 'ended', tone: 'quiet', word: 'Withdrawn' }
  if (notice.action.do === 'limit') return { shape: 'notched', tone: 'weak', word }
  if (notice.action.do === 'inspect_by') return { shape: 'held', tone: 'weak', word }
  return { shape: 'barred', tone: 'stop', word }
}

/** What was last said of a piece for a notice. What was not found says that it stays open. */
export function markOf(mark: Pick<NoticeMark, 'state'> | null | undefined): MarkWords {
  switch (mark?.state) {
    case 'found':
      return { shape: 'notched', tone: 'weak', word: 'Found, still to be done' }
    case 'not_found':
      return { shape: 'open', tone: 'stop', word: 'Not found, stays open' }
    case 'done':
      return { shape: 'solid', tone: 'sound', word: 'Done' }
    case 'not_affected':
      return { shape: 'ended', tone: 'quiet', word: 'Not affected' }
    default:
      return { shape: 'unknown', tone: 'weak', word: 'Nobody has looked yet' }
  }
}

/** Whether a mark ends what is to be done for a piece. */
export const isDone = (mark: Pick<NoticeMark, 'state'> | null | undefined) =>
  mark?.state === 'done' || mark?.state === 'not_affected'

/** "7 of 12 done, 2 not found". */
export function progressWords({ pieces, open, not_found }: Omit<NoticeProgress, 'items' | 'notice'>): string {
  if (!pieces) return 'No piece in the register is affected'
  const missed = not_found ? `, ${not_found} not found` : ''
  if (open) return `${pieces - open} of ${pieces} done${missed}`
  return pieces === 1 ? 'The one piece is done' : `All ${pieces} done`
}

export const openWords = ({ pieces, open, not_found }: Omit<NoticeProgress, 'items' | 'notice'>): string =>
  !pieces
    ? 'No piece in the register is affected'
    : open
      ? `${open} of ${pieces} ${pieces === 1 ? 'piece' : 'pieces'} open${not_found ? `, ${not_found} of them not found` : ''}`
      : 'Nothing open'

/** Which pieces of its models it is about: serial numbers and dates of make. */
export function coversWords({ serials = [], made_from, made_to }: Notice['covers']): string[] {
  const lines = serials.map(({ from, to }) =>
    from === to ? `Serial number ${from}` : `Serial numbers ${from} to ${to}`,
  )
  if (!lines.length) lines.push('Every serial number')
  if (made_from && made_to) lines.push(`Made from ${dateWords(made_from)} to ${dateWords(made_to)}`)
  else if (made_from) lines.push(`Made on ${dateWords(made_from)} or later`)
  else if (made_to) lines.push(`Made on ${dateWords(made_to)} or earlier`)
  else lines.push('Whenever it was made')
  return lines
}

/** In force first, of those the newest; then the withdrawn ones, the last withdrawn first. */
export function inForceFirst<N extends Pick<Notice, 'since' | 'withdrawn_at'>>(all: N[]): N[] {
  const at = (one: N) => Date.parse(one.withdrawn_at ?? one.since) || 0
  return all.toSorted(
    (a, b) => Number(Boolean(a.withdrawn_at)) - Number(Boolean(b.withdrawn_at)) || at(b) - at(a),
  )
}

/** Whether the server's answer for a piece names this notice: its reasons and limits do, or what changes the answer next. */
export function names(
  standing: Pick<PieceStanding, 'reasons' | 'holds_until_why'> | null | undefined,
  notice: Pick<Notice, 'number' | 'title'>,
): boolean {
  const own = `notice ${notice.number}: ${notice.title}`
  return [...(standing?.reasons ?? []).map((reason) => reason.words), standing?.holds_until_why ?? ''].some(
    (words) => words.includes(own),
  )
}

/** Of two marks the one that was made last: what waits on this phone, or what the server said. */
export function later<M extends Pick<NoticeMark, 'at'>>(
  one: M | null | undefined,
  other: M | null | undefined,
): M | null {
  if (!one || !other) return one ?? other ?? null
  return Date.parse(other.at) > Date.parse(one.at) ? other : one
}
