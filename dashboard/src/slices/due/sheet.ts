// What is due as rows of a spreadsheet, one for each check of a piece, in the order of the screen.
import type { Id, Piece } from '@/api/types'
import { signerWords } from '@/words/check'
import { dueState } from '@/words/due'
import { kindWord } from '@/words/piece'
import type { DueAt } from './due'

const STATES = {
  overdue: 'overdue',
  today: 'due',
  later: 'due',
  unknown: 'date not known',
  not_yet: 'not due',
}

export interface DueNames {
  model(piece: Piece): string
  station(id: Id): string
}

export function dueRows(dues: readonly DueAt[], names: DueNames, now: Date) {
  const head = [
    ...['Where', 'Station', 'Tag', 'Kind', 'Model', 'Check'],
    ...['Signature', 'State', 'Due', 'Counts until', 'Why'],
  ]
  const body = dues.flatMap(({ place, late, ahead, unknown }) =>
    [...late, ...ahead, ...unknown].flatMap(({ due, plans }) =>
      plans.flatMap(({ name, signer, pieces }) =>
        pieces.map((piece) => [
          ...[place.name, names.station(place.station)],
          ...[piece.tag, kindWord(piece.kind), names.model(piece), name],
          ...[signer ? signerWords(signer) : null, STATES[dueState(due, now)]],
          ...(due.state === 'at' ? [due.at, due.counts_from ?? null] : [null, null]),
          due.why,
        ]),
      ),
    ),
  )
  return [head, ...body]
}
