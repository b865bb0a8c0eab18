import type { AnyRecord, Person, Piece, Place } from '@/api/types'
import { pieceStateWord } from '@/words/piece'
import { said } from '@/words/said'
import { moment } from '@/words/time'
import { ticketWord } from '@/words/ticket'
import { personName, whereWords } from './look'

/** A record as it stands, in a few lines: the other side of a conflict. */
export function standsNow(record: AnyRecord): string[] {
  const lines: string[] = []
  if ('tag' in record && 'place' in record) {
    const piece = record as unknown as Piece
    const since = piece.state_since ? ` since ${moment(piece.state_since)}` : ''
    const who = piece.state_by ? `, by ${personName(piece.state_by)}` : ''
    lines.push(`${piece.tag}: ${pieceStateWord(piece.state).toLowerCase()}${since}${who}`)
    if (piece.state_reason) lines.push(`Reason: ${said(piece.state_reason)}`)
    lines.push(whereWords(piece.place))
    return lines
  }
  if ('name' in record) lines.push(String(record['name']))
  if ('state' in record) {
    const state = String(record['state'])
    lines.push(`State: ${'shop' in record ? ticketWord(state as never).toLowerCase() : state}`)
  }
  if ('ended_by' in record && record['ended_by']) {
    lines.push(`By ${personName(record['ended_by'] as Person)} at ${moment(record['ended_at'] as string)}`)
  }
  if ('from' in record) lines.push(`Came from: ${whereWords(record['from'] as Place)}`)
  if (!lines.length) lines.push('The record was changed. Close this and look at it again.')
  return lines
}
