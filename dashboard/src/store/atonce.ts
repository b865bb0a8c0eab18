// Damage that was tapped on a piece's own screen, until the screen of reports takes it up. It stands in no address: one that is opened
// again would report again.
import type { Id } from '@/api/types'

let tapped: { piece: Id; word: string } | null = null

export function tap(piece: Id, word: string) {
  tapped = { piece, word }
}
/** What was tapped on that piece: once. */
export function takeTapped(piece: Id): string | null {
  const word = tapped?.piece === piece ? tapped.word : null
  tapped = null
  return word
}
