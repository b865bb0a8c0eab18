// Which word points out a change, and on which record it is shown.
import type { AnyRecord } from '@/api/types'
import { levelWord } from './level'
import { pieceStateWord } from './piece'

export interface Mark {
  kind: string
  id: string
  word: string
}

export function freshWord(kind: string, before: AnyRecord | undefined, after: AnyRecord | undefined): Mark[] {
  if (!after) return []
  const at = (word: string): Mark[] => [{ kind, id: after.id, word }]
  switch (kind) {
    case 'rig_standing': {
      if (!before) return []
      if (before['level'] !== after['level'])
        return at(`now ${levelWord(after['level'] as never).toLowerCase()}`)
      if (before['confirmed'] !== after['confirmed'])
        return at(after['confirmed'] ? 'now confirmed' : 'not confirmed any more')
      return sameWords(before, after) ? [] : at('just updated')
    }
    case 'piece_standing':
      return before && before['verdict'] !== after['verdict'] ? at('answer changed') : []
    case 'piece':
      if (!before) return at('just added')
      if (before['state'] !== after['state'])
        return at(`now ${pieceStateWord(after['state'] as never).toLowerCase()}`)
      if (JSON.stringify(before['place']) !== JSON.stringify(after['place'])) return at('just moved')
      return at('just updated')
    case 'defect': {
      const onPiece = {
        kind: 'piece',
        id: String(after['piece']),
        word: before ? 'defect updated' : 'new defect',
      }
      return [
        ...at(before ? (after['state'] === 'closed' ? 'just closed' : 'just updated') : 'just reported'),
        onPiece,
      ]
    }
    case 'rig':
      if (!before) return at('just added')
      if (before['in_service'] !== after['in_service']) {
        return at(after['in_service'] ? 'just put back' : 'just taken out')
      }
      return at('just updated')
    case 'ticket':
      return at(
        before && before['state'] !== after['state']
          ? 'just moved on'
          : before
            ? 'just updated'
            : 'just opened',
      )
    case 'swap':
      return at(before ? (after['state'] === 'open' ? 'just updated' : 'just ended') : 'just started')
    default:
      return []
  }
}

/** A recomputed answer that says the same is no news. */
function sameWords(before: AnyRecord, after: AnyRecord): boolean {
  const told = ['needs', 'gaps', 'fillings', 'margin', 'also', 'doubts', 'completeness']
  const pick = (r: AnyRecord) => JSON.stringify(told.map((field) => r[field]))
  return pick(before) === pick(after)
}
