// What the sheet says that the service leaves to the reader: whom an act concerned, why a slot was open, how old a piece was.
import type { Aboard, Capability, HistoryItem, Id, Sheet, Slot } from '@/api/types'
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
  if (age) return `${age}, made ${dateWords(piece.made_on)}`
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

export interface SlotThen {
  name: string
  need: string
  /** Id of the piece that filled it. */
  piece: Id | null
  via: string
  why: string[]
}

/** Slot by slot, in the order of the complement as it was. A slot whose name is not known goes by its key. */
export function slotsThen(capability: Capability, slots: Slot[], tag: (id: Id) => string): SlotThen[] {
  return capability.fillings.map((filling) => {
    const slot = slots.find((s) => s.id === filling.slot)
    const gap = capability.gaps.find((g) => g.slot === filling.slot)
    const via = filling.via
    const through = !via
      ? ''
      : 'hose' in via
        ? `through hose ${tag(via.hose)} from ${tag(via.source)}`
        : via.battery
          ? `on pack ${tag(via.battery)}`
          : 'on its own pack'
    return {
      name: slot?.name ?? filling.slot,
      need: slot?.need ?? gap?.need ?? '',
      piece: filling.piece ?? null,
      via: through,
      why: [...new Set(gap?.words ?? [])],
    }
  })
}

/** How many defects were open on what was aboard. */
export const openCount = (sheet: Sheet) => sheet.aboard.reduce((n, a) => n + a.defects.length, 0)
