// What the register says of a piece, while it is written.
import type { BodyOf } from 'fullset-client'
import type { LifePart, Piece } from '@/api/types'
import { choiceOf, placeOf } from '@/store/places'
import { PART_LIST } from '@/words/life'

export interface PieceDraft {
  model: string
  serial: string
  /** A day or a month. */
  made: string
  /** The same of its parts. */
  parts: Partial<Record<LifePart, string>>
  /** Of a battery pack. */
  cycles: string
  since: string
  service: string
  /** A choice of `store/places.ts`; empty: where it is, or none. */
  home: string
  fixedTo: string
  /** Who lends it; empty: it is the agency's own. */
  lender: string
  lentUntil: string
  note: string
}
export const draftOf = (piece: Piece | null): PieceDraft => ({
  model: piece?.model ?? '',
  serial: piece?.serial ?? '',
  made: piece?.made_on ?? '',
  parts: Object.fromEntries((piece?.parts ?? []).map((one) => [one.part, one.made_on])),
  cycles: piece?.cycles?.count.toString() ?? '',
  since: piece?.in_service_since ?? '',
  service: piece?.last_service_on ?? '',
  home: choiceOf(piece?.home),
  fixedTo: piece?.fixed_to ?? '',
  lender: piece?.lent_by?.name ?? '',
  lentUntil: piece?.lent_by?.due_on ?? '',
  note: piece?.note ?? '',
})
const or = (text: string) => text.trim() || null
const partsOf = (draft: PieceDraft) =>
  PART_LIST.flatMap((part) => {
    const made_on = draft.parts[part]?.trim()
    return made_on ? [{ part, made_on }] : []
  })
const cyclesOf = (draft: PieceDraft) => (draft.cycles.trim() ? Number(draft.cycles) : null)
const lentBy = (draft: PieceDraft) =>
  draft.lender.trim() ? { name: draft.lender.trim(), due_on: or(draft.lentUntil) } : null

/** What is sent to change it: only what differs; null where nothing does. */
export function changeOf(draft: PieceDraft, seen: Piece): Omit<BodyOf<'piece.edit'>, 'reason'> | null {
  const was = draftOf(seen)
  const differs = (key: Exclude<keyof PieceDraft, 'parts'>) => draft[key].trim() !== was[key]
  const change = {
    ...(differs('model') ? { model: draft.model } : {}),
    ...(differs('serial') ? { serial: or(draft.serial) } : {}),
    ...(differs('made') ? { made_on: or(draft.made) } : {}),
    ...(JSON.stringify(partsOf(draft)) === JSON.stringify(partsOf(was)) ? {} : { parts: partsOf(draft) }),
    ...(differs('cycles') ? { cycles: cyclesOf(draft) } : {}),
    ...(differs('since') ? { in_service_since: or(draft.since) } : {}),
    ...(differs('service') ? { last_service_on: or(draft.service) } : {}),
    ...(differs('home') ? { home: placeOf(draft.home) } : {}),
    ...(differs('fixedTo') ? { fixed_to: or(draft.fixedTo) } : {}),
    ...(differs('lender') || differs('lentUntil') ? { lent_by: lentBy(draft) } : {}),
    ...(differs('note') ? { note: or(draft.note) } : {}),
  }
  return Object.keys(change).length ? { id: seen.id, ...change } : null
}

/** A new piece as it is sent; null while tag, model or place is missing. */
export function bodyOf(
  id: string,
  tag: string,
  place: string,
  draft: PieceDraft,
): BodyOf<'piece.add'> | null {
  const at = placeOf(place)
  if (!tag.trim() || !draft.model || !at) return null
  return {
    id,
    tag: tag.trim(),
    model: draft.model,
    place: at,
    serial: or(draft.serial),
    made_on: or(draft.made),
    ...(partsOf(draft).length ? { parts: partsOf(draft) } : {}),
    ...(draft.cycles.trim() ? { cycles: cyclesOf(draft) } : {}),
    in_service_since: or(draft.since),
    last_service_on: or(draft.service),
    ...(draft.home ? { home: placeOf(draft.home) } : {}),
    ...(draft.fixedTo ? { fixed_to: draft.fixedTo } : {}),
    lent_by: lentBy(draft),
    note: or(draft.note),
  }
}
