// Which shop this device stands in: chosen once and kept here. A member of the shops has no shop on record.
import type { Defect, Id, Piece, Ticket } from '@/api/types'

const KEY = 'fullset.my-shop'

export function keptShop(): Id {
  try {
    return localStorage.getItem(KEY) ?? ''
  } catch {
    return ''
  }
}
export function keepShop(id: Id) {
  try {
    if (id) localStorage.setItem(KEY, id)
    else localStorage.removeItem(KEY)
  } catch {
    // A browser that keeps nothing asks again next time.
  }
}

/** What a crew took out of service for a defect and nobody has sent to a shop yet, the longest wait first. */
export function unsent(
  pieces: readonly Piece[],
  defects: (piece: Id) => readonly Defect[],
  ticket: (piece: Id) => Ticket | undefined,
): { piece: Piece; defect: Defect }[] {
  const found = pieces.flatMap((piece) => {
    if (piece.state !== 'out_of_service' || ticket(piece.id)) return []
    const grave = defects(piece.id).filter((one) => one.severity === 'out_of_service')
    const first = grave.toSorted((a, b) => a.seen_at.localeCompare(b.seen_at))[0]
    return first ? [{ piece, defect: first }] : []
  })
  return found.toSorted((a, b) => a.defect.seen_at.localeCompare(b.defect.seen_at))
}
