// The register's rows with their words, for the table and for the labels made out of it.
import type { Piece } from '@/api/types'
import { modelName, whereWords } from '@/store/look'
import { world } from '@/store/world.svelte'
import { kindWord, pieceStateWord } from '@/words/piece'
import type { Row, Wanted } from './search'

export function registerRows(): Row[] {
  return world.all('piece').map((piece) => ({
    piece,
    kind: kindWord(piece.kind),
    model: modelName(piece),
    where: whereWords(piece.place),
    state: pieceStateWord(piece.state),
    station: stationOf(piece),
  }))
}

function stationOf(piece: Piece): string {
  if (piece.place.at === 'rig') return world.get('rig', piece.place.rig)?.station ?? ''
  return piece.place.at === 'shelf' ? piece.place.station : ''
}

/** The filters as the address keeps them. */
export const wantedOf = (get: (key: string) => string): Wanted => ({
  text: get('q'),
  kind: get('kind'),
  state: get('state'),
  at: get('at'),
  station: get('station'),
})
