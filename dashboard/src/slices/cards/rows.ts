// The list of cards: what waits first, then what many carry without a card.
import type { Id, Model, OperatingCard, RigClass } from '@/api/types'
import type { MarkWords } from '@/words/marks'
import { kindWord } from '@/words/piece'

export type Stand = 'draft' | 'none' | 'approved'
export const STANDS: Record<Stand, MarkWords> = {
  draft: { shape: 'notched', tone: 'weak', word: 'Waits to be approved' },
  none: { shape: 'ended', tone: 'quiet', word: 'No card' },
  approved: { shape: 'solid', tone: 'quiet', word: 'Approved' },
}
const ORDER: Stand[] = ['draft', 'none', 'approved']

export interface CardRow {
  id: Id
  name: string
  /** "cutter, 12 pieces". */
  what: string
  /** How many pieces or rigs go by it. */
  carried: number
  card: OperatingCard | undefined
  stand: Stand
}

const counted = (n: number, one: string) => (n === 1 ? `1 ${one}` : `${n} ${one}s`)

export function cardRows(
  models: Model[],
  classes: RigClass[],
  pieces: (model: Id) => number,
  rigs: (rigClass: Id) => number,
  cardOf: (id: Id) => OperatingCard | undefined,
  drafts: (id: Id) => number,
): CardRow[] {
  const row = (id: Id, name: string, kind: string, carried: number, one: string): CardRow => {
    const card = cardOf(id)
    return {
      id,
      name,
      what: `${kind}, ${counted(carried, one)}`,
      carried,
      card,
      stand: drafts(id) ? 'draft' : card?.text ? 'approved' : 'none',
    }
  }
  return [
    ...classes.map((one) => row(one.id, one.name, 'rig class', rigs(one.id), 'rig')),
    ...models.map((one) => row(one.id, one.name, kindWord(one.kind).toLowerCase(), pieces(one.id), 'piece')),
  ].toSorted(
    (a, b) =>
      ORDER.indexOf(a.stand) - ORDER.indexOf(b.stand) ||
      b.carried - a.carried ||
      a.name.localeCompare(b.name, 'en', { numeric: true }),
  )
}
