// What is lent to others and what others lend us, by the day on which it is due back.
import type { Piece } from '@/api/types'

export interface Loan {
  piece: Piece
  /** `out`: ours, with somebody else; `in`: theirs, with us; `vendor`: ours, being mended or tested outside. */
  way: 'out' | 'in' | 'vendor'
  who: string
  /** A day in the agency's zone; null: nobody said. */
  due: string | null
  overdue: boolean
}

/** `today` is the day in the agency's zone. What is overdue stands first, then by day, then what has none. */
export function loansOf(pieces: readonly Piece[], today: string): Loan[] {
  const loans = pieces.flatMap((piece): Loan[] => {
    if (piece.state === 'retired') return []
    const loan = (way: Loan['way'], who: string, due: string | null | undefined): Loan => ({
      ...{ piece, way, who },
      due: due ?? null,
      overdue: Boolean(due && due < today),
    })
    const { place, lent_by } = piece
    return [
      ...(lent_by ? [loan('in', lent_by.name, lent_by.due_on)] : []),
      ...(place.at === 'loan' ? [loan('out', place.name, place.due_on)] : []),
      ...(place.at === 'vendor' ? [loan('vendor', place.name, place.due_on)] : []),
    ]
  })
  return loans.toSorted(
    (a, b) => (a.due ?? '9999').localeCompare(b.due ?? '9999') || a.piece.tag.localeCompare(b.piece.tag),
  )
}
