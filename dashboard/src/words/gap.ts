// Why a need or slot is open, in the one reason that helps most. The server lists every near miss; a row has room for one.
import type { Gap, Near, Piece } from '@/api/types'
import { kindWord } from './piece'
import { said } from './said'
import { moment, spoken } from './time'

export type { Gap, Near }

/** What a missing source, hose or pack brings with it: the piece is sound and aboard, only nothing reaches it. */
export const FOLLOWS = new Set<string>(['no-source', 'no-hose', 'no-battery', 'line-too-short'])

/** A sound piece that something else needs explains the least; everything else names what could be put right. */
export function bestNear(gap: Gap | undefined): Near | undefined {
  return gap?.near.find((n) => n.code !== 'needed-elsewhere') ?? gap?.near[0]
}

/** Words about one piece without its kind and tag, where both stand beside them. */
export function aboutIt(words: string, piece: Piece | undefined): string {
  const name = piece ? `${kindWord(piece.kind).toLowerCase()} ${piece.tag}: ` : ''
  return name && words.startsWith(name) ? words.slice(name.length) : words
}

/** The server's words without the kind that the name of the need has said already. */
export function nearWords(near: Near, piece: Piece | undefined, now = new Date()): string {
  if (near.code === 'out-of-service' && piece) {
    const since = moment(near.since ?? piece.state_since, now)
    return `${piece.tag} out of service since ${since}${piece.state_reason ? `: ${said(piece.state_reason)}` : ''}`
  }
  const kind = `${kindWord(piece?.kind).toLowerCase()} `
  const words = piece && near.words.startsWith(kind + piece.tag) ? near.words.slice(kind.length) : near.words
  const told = spoken(words, now)
  return near.code === 'needed-elsewhere' && piece
    ? told.replace(`${piece.tag}: `, `only ${piece.tag}, `)
    : told
}

export function gapWords(
  gap: Gap | undefined,
  pieceOf: (id: string) => Piece | undefined,
  now = new Date(),
): string {
  const near = bestNear(gap)
  if (near) return nearWords(near, near.piece ? pieceOf(near.piece) : undefined, now)
  return gap?.words[0] ? spoken(gap.words[0], now) : 'nothing meets it'
}
