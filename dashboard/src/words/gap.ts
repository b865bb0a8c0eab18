// Why a slot is open, in the one reason that helps most. The server lists every near miss; a row has room for one.
import type { Capability, Piece } from '@/api/types'
import { kindWord } from './piece'
import { moment } from './time'

export type Gap = Capability['gaps'][number]
export type Near = Gap['near'][number]

/** What a missing source or hose brings with it: the piece is sound and aboard, only nothing reaches it. */
export const FOLLOWS = new Set<string>(['no-source', 'no-hose', 'no-battery'])

/** A sound piece that another slot needs explains the least; everything else names what could be put right. */
export function bestNear(gap: Gap | undefined): Near | undefined {
  return gap?.near.find((n) => n.code !== 'fills-another-slot') ?? gap?.near[0]
}

/** The server's words without the kind that the slot's name has said already. */
export function nearWords(near: Near, piece: Piece | undefined, now = new Date()): string {
  if (near.code === 'out-of-service' && piece) {
    const since = moment(near.since ?? piece.state_since, now)
    return `${piece.tag} out of service since ${since}${piece.state_reason ? `: ${piece.state_reason}` : ''}`
  }
  const kind = `${kindWord(piece?.kind).toLowerCase()} `
  let words = piece && near.words.startsWith(kind + piece.tag) ? near.words.slice(kind.length) : near.words
  if (near.since) words = words.replace(/since \d{4}-\d\d-\d\d \d\d:\d\d/, `since ${moment(near.since, now)}`)
  return near.code === 'fills-another-slot' && piece
    ? words.replace(`${piece.tag}: `, `only ${piece.tag}, `)
    : words
}

export function gapWords(
  gap: Gap | undefined,
  pieceOf: (id: string) => Piece | undefined,
  now = new Date(),
): string {
  const near = bestNear(gap)
  if (near) return nearWords(near, near.piece ? pieceOf(near.piece) : undefined, now)
  return gap?.words[0] ?? 'nothing fills it'
}
