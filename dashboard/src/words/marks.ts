// State as a word, a shape and a tone. The tone never stands alone.
import type { Level, Piece, Severity, TicketState } from '@/api/types'
import { levelWord } from './level'
import { pieceStateWord } from './piece'
import { TICKET_STATES, ticketWord } from './ticket'

export interface MarkWords {
  shape: string
  tone: 'sound' | 'weak' | 'stop' | 'quiet'
  word: string
}

export function levelMark(level: Level | undefined | null): MarkWords {
  const word = levelWord(level)
  if (level === 'full' || level === 'heavy') return { shape: 'joined', tone: 'sound', word }
  if (level === 'limited') return { shape: 'half', tone: 'weak', word }
  if (level === 'none') return { shape: 'open', tone: 'stop', word }
  return { shape: 'unknown', tone: 'quiet', word }
}

/** The state that is on record. It says where a piece stands, never that it may be used: that is the verdict's. */
export function stateMark(piece: Piece | undefined): MarkWords {
  if (!piece) return { shape: 'unknown', tone: 'quiet', word: 'Unknown' }
  const word = pieceStateWord(piece.state)
  if (piece.state === 'out_of_service') return { shape: 'barred', tone: 'stop', word }
  if (piece.state === 'missing') return { shape: 'open', tone: 'stop', word }
  if (piece.state === 'retired') return { shape: 'ended', tone: 'quiet', word }
  return { shape: 'solid', tone: 'quiet', word }
}

/** `stopped`: the piece must not be used for another reason, so that nothing about it may read as a yes. */
export function severityMark(severity: Severity, stopped = false): MarkWords {
  if (severity === 'usable' && stopped)
    return { shape: 'notched', tone: 'quiet', word: 'A lesser fault; the piece must not be used' }
  return severity === 'usable'
    ? { shape: 'notched', tone: 'weak', word: 'Still usable' }
    : { shape: 'barred', tone: 'stop', word: 'Out of service' }
}

export function ticketMark(state: TicketState): MarkWords {
  const step = Math.max(0, TICKET_STATES.indexOf(state))
  const tone = state === 'on_hold' ? 'weak' : state === 'tested' ? 'sound' : 'quiet'
  return {
    shape: state === 'on_hold' ? 'held' : `steps-${Math.min(4, step >= 3 ? step : step + 1)}`,
    tone,
    word: ticketWord(state),
  }
}
