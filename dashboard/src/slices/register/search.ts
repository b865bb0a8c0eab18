// Which pieces the register shows. The words of a row are looked up by the caller, so that this stays plain.
import type { Piece } from '@/api/types'

export interface Row {
  piece: Piece
  kind: string
  model: string
  where: string
  state: string
  station: string
}
export interface Wanted {
  text: string
  kind: string
  state: string
  at: string
  station: string
}
export type SortKey = 'tag' | 'kind' | 'model' | 'serial' | 'where' | 'state'

export function search(rows: Row[], wanted: Wanted): Row[] {
  const words = wanted.text.trim().toLowerCase().split(/\s+/).filter(Boolean)
  return rows.filter((row) => {
    const { piece } = row
    if (wanted.kind && piece.kind !== wanted.kind) return false
    if (wanted.state && piece.state !== wanted.state) return false
    if (wanted.at && piece.place.at !== wanted.at) return false
    if (wanted.station && row.station !== wanted.station) return false
    if (!words.length) return true
    const all =
      `${piece.tag} ${piece.serial ?? ''} ${row.kind} ${row.model} ${row.where} ${row.state} ${piece.note ?? ''}`.toLowerCase()
    return words.every((word) => all.includes(word))
  })
}

export function sortRows(rows: Row[], key: SortKey, down: boolean): Row[] {
  const value = (row: Row) =>
    key === 'tag' ? row.piece.tag : key === 'serial' ? (row.piece.serial ?? '') : row[key]
  const collator = new Intl.Collator('en', { numeric: true })
  const sign = down ? -1 : 1
  return rows.toSorted(
    (a, b) => sign * collator.compare(value(a), value(b)) || collator.compare(a.piece.tag, b.piece.tag),
  )
}

/** "1 piece", "12 pieces". */
export const piecesWords = (n: number) => (n === 1 ? '1 piece' : `${n} pieces`)
