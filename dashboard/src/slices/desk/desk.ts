// What a desk at dispatch reads: each rig's level and since when, and which of its pieces the shop promises for which day.
import type { Board, DistrictLine, Id, Piece, RigLine, Ticket } from '@/api/types'
import { levelMark, type MarkWords } from '@/words/marks'
import { kindWord } from '@/words/piece'
import { dateWords } from '@/words/time'

/** How often the board is asked for, and how old it may grow before it counts as out of date. */
export const ASK_EVERY = 15_000
export const STALE_AFTER = 60_000

/** The key that stands behind `#`, so that it is sent to nobody as part of an address. */
export const keyIn = (hash: string) => {
  const key = decodeURIComponent(hash.replace(/^#/, ''))
  return /^fsk_[\w-]{10,200}$/.test(key) ? key : ''
}

export const isStale = (read: number | null, now: number) => read === null || now - read > STALE_AFTER

/** What a rig is at. What is not settled is never shown as a level. */
export function deskMark(rig: RigLine): MarkWords {
  if (rig.out) return { shape: 'barred', tone: 'stop', word: 'Out of service' }
  if (!rig.known) return { shape: 'unknown', tone: 'quiet', word: 'Not known' }
  return levelMark(rig.level)
}

/** "cutter CU-104 on 27 Nov 2026": what the shop has promised of a rig's pieces, the earliest first. */
export function promised(rig: Id, out: readonly Piece[], tickets: readonly Ticket[]): string[] {
  const own = out.filter((piece) => piece.home?.at === 'rig' && piece.home.rig === rig)
  return own
    .flatMap((piece) => {
      const days = tickets.filter((one) => one.piece === piece.id).map((one) => one.expected_on ?? '')
      const day = days.toSorted().at(-1)
      return day
        ? [{ day, words: `${kindWord(piece.kind).toLowerCase()} ${piece.tag} on ${dateWords(day)}` }]
        : []
    })
    .toSorted((a, b) => a.day.localeCompare(b.day))
    .map((one) => one.words)
}

/** The districts that a desk asks for first: those that fall short, then by name. */
export const inOrder = (board: Board): DistrictLine[] =>
  board.districts.toSorted((a, b) => Number(b.short) - Number(a.short) || a.name.localeCompare(b.name))

/** What stands in the way of reading, in a sentence. */
export function troubleWords(status: number | null): string {
  if (status === null) return 'The service is not reached.'
  if (status === 401 || status === 403) return 'This key opens nothing any more: ask the agency for another.'
  return `The service answers with an error (${status}).`
}

/** The first two of the service's reasons, as sentences. */
export const sentences = (words: readonly string[]) =>
  words
    .slice(0, 2)
    .map((one) => `${one.charAt(0).toUpperCase()}${one.slice(1).replace(/\.$/, '')}.`)
    .join(' ')
