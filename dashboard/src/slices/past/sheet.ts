// What the sheet says that the service leaves to the reader: whom an act concerned, why a slot was open, how old a piece was.
import type { Aboard, HistoryItem, Id, RigStanding, Sheet, Slot, Via } from '@/api/types'
import { madeWords } from '@/words/life'
import { dateWords } from '@/words/time'
import { ageAt } from './when'

/** The tag of the piece that an act concerned, as far as the sheet or the register of now knows it. */
export function concerned(
  item: HistoryItem,
  sheet: Sheet,
  tagOf: (id: Id) => string | undefined,
): string | null {
  const body = item.body as Record<string, unknown>
  const left = item.record as { tag?: unknown; piece?: unknown }
  for (const key of ['piece', 'id', 'defect', 'swap']) {
    const id = body[key]
    if (typeof id !== 'string') continue
    const aboard = sheet.aboard.find((a) => a.piece.id === id || a.defects.some((d) => d.id === id))
    if (aboard) return aboard.piece.tag
    const swap = sheet.swaps.find((s) => s.id === id)
    const tag = tagOf(swap?.piece ?? id)
    if (tag) return tag
  }
  if (typeof left.tag === 'string') return left.tag
  return typeof left.piece === 'string' ? (tagOf(left.piece) ?? null) : null
}

/** "9 years, made 17 Sep 2017". Unknown is not young: where only the service with the agency is known, that is said. */
export function ageWords(piece: Aboard['piece'], at: Date): string {
  const age = ageAt(piece.made_on, at)
  if (age) return `${age}, made ${madeWords(piece.made_on)}`
  const served = ageAt(piece.in_service_since, at)
  return served
    ? `not known; at least ${served}, here since ${dateWords(piece.in_service_since)}`
    : 'not known'
}

export function servicedWords(piece: Aboard['piece'], at: Date): string {
  const ago = ageAt(piece.last_service_on, at)
  if (!piece.last_service_on) return 'none on record'
  return ago ? `${dateWords(piece.last_service_on)}, ${ago} before` : dateWords(piece.last_service_on)
}

export interface RowThen {
  key: string
  name: string
  /** Of the grade or of the list. */
  what: string
  required: boolean
  met: boolean
  pieces: { piece: Id; via: string }[]
  why: string[]
}

function through(via: Via | null | undefined, tag: (id: Id) => string): string {
  if (!via) return ''
  if (via.by === 'line') return `from ${tag(via.source)} through ${via.parts.map(tag).join(', then ')}`
  return via.by === 'pack' ? `on pack ${tag(via.pack)}` : 'on its own pack'
}

/** Needs of the grade that it was judged by, then the list of its class. What has no name any more goes by its key. */
export function rowsThen(standing: RigStanding, slots: Slot[], tag: (id: Id) => string): RowThen[] {
  const why = (kind: 'need' | 'slot', id: string) => [
    ...new Set(standing.gaps.find((gap) => gap.in === kind && gap.id === id)?.words ?? []),
  ]
  const needs = standing.needs.map((need) => ({
    key: `need:${need.need}`,
    name: need.name,
    what: 'grade',
    required: true,
    met: need.met,
    pieces: need.pieces.map(({ piece, via }) => ({ piece, via: through(via, tag) })),
    why: why('need', need.need),
  }))
  const list = standing.fillings.map(({ slot, piece, via }) => {
    const gap = standing.gaps.find((one) => one.in === 'slot' && one.id === slot)
    const known = slots.find((one) => one.id === slot)
    const required = known?.required ?? gap?.required ?? true
    return {
      key: `slot:${slot}`,
      name: known?.name ?? gap?.name ?? slot,
      what: required ? 'list' : 'list, optional',
      required,
      met: Boolean(piece),
      pieces: piece ? [{ piece, via: through(via, tag) }] : [],
      why: why('slot', slot),
    }
  })
  return [...needs, ...list]
}

/** How many defects were open on what was aboard. */
export const openCount = (sheet: Sheet) => sheet.aboard.reduce((n, a) => n + a.defects.length, 0)
