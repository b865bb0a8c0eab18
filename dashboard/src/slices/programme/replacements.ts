// What has to be replaced, as sentences and as rows of a spreadsheet. The sums are the service's.
import type { Replacements } from '@/api/types'
import { partWord } from '@/words/life'
import { kindWord } from '@/words/piece'

type Sum = Replacements['overdue']
type Line = Replacements['lines'][number]

/** "4,950"; where there are cents, both digits of them: "742.50". */
export const money = (amount: number) =>
  new Intl.NumberFormat('en', {
    minimumFractionDigits: Number.isInteger(amount) ? 0 : 2,
    maximumFractionDigits: 2,
  }).format(amount)

const many = (n: number, one: string, more = `${one}s`) => `${n} ${n === 1 ? one : more}`

/** "12 pieces, 4,950 and 3 without a price; 2 parts", or "nothing". */
export function sumWords(sum: Sum): string {
  const priced = sum.pieces - sum.unpriced
  const cost = [
    priced ? money(sum.amount) : '',
    sum.unpriced ? `${sum.unpriced} without a price` : '',
  ].filter(Boolean)
  const pieces = sum.pieces ? `${many(sum.pieces, 'piece')}: ${cost.join(' and ')}` : ''
  const parts = sum.parts ? many(sum.parts, 'part') : ''
  return [pieces, parts].filter(Boolean).join('; ') || 'nothing'
}

/** "; 41 battery packs have no life set and are not in it". */
function unsetWords(found: Pick<Replacements, 'no_life'>): string {
  const all = found.no_life
  if (!all.length) return ''
  const one = all.length === 1 && all[0]?.pieces === 1
  return `; ${all.map((of) => of.words).join(', ')} ${one ? 'has' : 'have'} no life set and ${one ? 'is' : 'are'} not in it`
}

/** What they come to in ten years: "at least" where something has no price, or nobody knows when it runs out. */
export function headWords(found: Replacements): string {
  const all = [found.overdue, ...found.years]
  const unpriced = all.reduce((sum, one) => sum + one.unpriced, 0)
  const pieces = all.reduce((sum, one) => sum + one.pieces, 0)
  const total = found.years.at(-1)?.so_far ?? 0
  const unset = unsetWords(found)
  if (!pieces) return `Nothing is known to need replacing in ten years${unset}`
  if (unpriced === pieces)
    return `${many(pieces, 'piece')} to replace in ten years, none with a price${unset}`
  const least = unpriced || found.no_life.length || found.unknown.length
  return `${many(pieces, 'piece')} to replace in ten years, ${least ? 'at least ' : ''}${money(total)}${unset}`
}

export const yearWord = (year: number | null) => (year === null ? 'Ended already' : String(year))

export const causeWords = (line: Line) =>
  [
    line.cause === 'life' ? 'service life ends' : 'readings reach a limit',
    line.again ? 'bought in these years' : '',
  ]
    .filter(Boolean)
    .join(', ')

/** What a line costs: a part is never priced, a piece only where its model is. */
export const costWords = (line: Line) => {
  if (line.part !== 'whole') return 'a part, not priced'
  return line.amount === null ? 'no price' : money(line.amount)
}

export const lineName = (line: Line) =>
  line.part === 'whole' ? line.name : `${partWord(line.part)} of ${line.name}`

/** The lines with their sums by year, as they are downloaded. */
export function replacementRows(found: Replacements, priced: (model: string) => [number, string] | null) {
  const head = ['Year', 'Kind', 'Model', 'What of it', 'Why', 'How many', 'Price of one', 'Priced on', 'Cost']
  const row = (line: Line) => {
    const price = line.part === 'whole' ? priced(line.model) : null
    return [
      ...[yearWord(line.year), kindWord(line.kind), line.name, partWord(line.part), causeWords(line)],
      ...[line.pieces, price?.[0] ?? null, price?.[1] ?? null, line.amount],
    ]
  }
  const unset = found.no_life.map((one) => [
    ...['In no year', kindWord(one.kind), one.models.join(', '), '', 'no life is set', one.pieces],
    ...[null, null, null],
  ])
  return [head, ...found.lines.map(row), ...unset]
}
