// Which piece sits where on a rig: each slot of its class is a seat. A piece keeps its seat when it fails or is taken away, and
// when another one fails. Nothing is judged here: what fills which slot is the server's answer, and where a piece that fills none
// sits follows from the records alone.
import type { Gap, Gear, Id, Piece, RigStanding, Slot, Swap } from '@/api/types'
import { byTag } from '@/words/order'
import { byKind } from '@/words/piece'

export interface SeatFacts {
  rig: Id
  slots: Slot[]
  fillings: RigStanding['fillings']
  gaps: Gap[]
  /** Aboard, on the way here, or with their home here. */
  pieces: Piece[]
  /** Those to this rig. */
  swaps: Swap[]
  gear?: (piece: Piece) => Gear | null | undefined
  /** Who sat where a moment ago. */
  before?: ReadonlyMap<string, Id>
}
export interface Seating {
  /** By slot. */
  at: Map<string, Id>
  /** Aboard and beyond the list; where there is no list, all that belongs here. */
  beside: Piece[]
}

/** Reasons that lie in how a piece stands now; any other says that it is not what the slot asks for. */
const PASSING = new Set<string>([
  'out-of-service',
  'missing',
  'stop-use',
  'quarantined',
  'repair-by-past',
  'limited',
  'life-ended',
  'life-unknown',
  'check-overdue',
  'needed-elsewhere',
])

export function seatsOf(facts: SeatFacts): Seating {
  const at = new Map<string, Id>()
  for (const { slot, piece } of facts.fillings) if (piece) at.set(slot, piece)
  const counted = new Set(at.values())
  const replaced = new Set(
    facts.swaps.flatMap((swap) =>
      swap.state === 'open' && counted.has(swap.piece) && swap.stands_in_for ? [swap.stands_in_for] : [],
    ),
  )
  const waiting = facts.pieces
    .filter((piece) => !counted.has(piece.id) && !replaced.has(piece.id) && piece.state !== 'retired')
    .toSorted((a, b) => far(a, facts.rig) - far(b, facts.rig) || byTag(a, b))
  for (const piece of waiting) {
    const slot = bestSlot(facts, piece, at)
    if (slot) at.set(slot.id, piece.id)
  }
  for (const slot of facts.slots) trade(facts, slot, at)
  for (const group of alike(facts.slots)) settle(facts, group, at)
  const seated = new Set(at.values())
  const beside = facts.pieces
    .filter((piece) => !seated.has(piece.id) && piece.state !== 'retired')
    .filter((piece) => !facts.slots.length || far(piece, facts.rig) === 0)
    .toSorted(byKind)
  return { at, beside }
}

/** Aboard, then on the way, then elsewhere. */
function far({ place }: Piece, rig: Id): number {
  if (place.at === 'rig') return place.rig === rig ? 0 : 2
  return place.at === 'transit' && place.to.at === 'rig' && place.to.rig === rig ? 1 : 2
}

function bestSlot(facts: SeatFacts, piece: Piece, at: ReadonlyMap<string, Id>): Slot | undefined {
  const meant = facts.swaps.find((swap) => swap.state === 'open' && swap.piece === piece.id)?.slot
  return facts.slots
    .filter((slot) => !at.has(slot.id) && takes(facts, slot, piece))
    .map((slot) => ({ slot, against: slot.id === meant ? -1 : against(facts, slot.id, piece.id) }))
    .toSorted((a, b) => a.against - b.against)[0]?.slot
}

function takes(facts: SeatFacts, slot: Slot, piece: Piece): boolean {
  if (!slot.kinds.includes(piece.kind)) return false
  return piece.kind !== 'accessory' || !slot.gear || facts.gear?.(piece) === slot.gear
}

const gapOf = (facts: SeatFacts, slot: string) =>
  facts.gaps.find((gap) => gap.in === 'slot' && gap.id === slot)
/** How much the server says against this piece for this slot, whatever its state. */
const against = (facts: SeatFacts, slot: string, piece: Id) =>
  gapOf(facts, slot)?.near.filter((near) => near.piece === piece && !PASSING.has(near.code)).length ?? 0

/** A slot that is open only because its piece was counted elsewhere, in the place of one that failed: both stay where they were. */
function trade(facts: SeatFacts, slot: Slot, at: Map<string, Id>) {
  const here = at.get(slot.id)
  if (!here || !against(facts, slot.id, here)) return
  const kind = facts.pieces.find((piece) => piece.id === here)?.kind
  for (const near of gapOf(facts, slot.id)?.near ?? []) {
    if (near.code !== 'needed-elsewhere' || against(facts, slot.id, near.piece ?? '')) continue
    const other = facts.slots.find((one) => at.get(one.id) === near.piece)
    if (!near.piece || !other || !kind || !other.kinds.includes(kind)) continue
    at.set(slot.id, near.piece).set(other.id, here)
    return
  }
}

/** Slots that ask for the same: which of their pieces sits in which is nobody's answer, so it is settled once. */
function alike(slots: Slot[]): Slot[][] {
  const groups = new Map<string, Slot[]>()
  for (const slot of slots) {
    const key = JSON.stringify([slot.kinds, slot.minimums ?? {}, slot.gear ?? null])
    groups.set(key, [...(groups.get(key) ?? []), slot])
  }
  return [...groups.values()].filter((group) => group.length > 1)
}

/** Who was put into a slot stays there, then who sat there a moment ago; the others by their tags, a stand-in as what it stands in for. */
function settle(facts: SeatFacts, group: Slot[], at: Map<string, Id>) {
  const pieces = new Map(facts.pieces.map((piece) => [piece.id, piece]))
  const left = new Set(group.flatMap((slot) => at.get(slot.id) ?? []))
  const free = new Set(group.map((slot) => slot.id))
  for (const slot of free) at.delete(slot)
  const seat = (slot: string, piece: Id) => {
    if (!free.has(slot) || !left.has(piece)) return
    at.set(slot, piece)
    free.delete(slot)
    left.delete(piece)
  }
  for (const swap of facts.swaps) if (swap.slot && swap.state !== 'ended') seat(swap.slot, swap.piece)
  for (const slot of group) seat(slot.id, facts.before?.get(slot.id) ?? '')
  const stood = (id: Id) =>
    facts.swaps.find((swap) => swap.state === 'open' && swap.piece === id)?.stands_in_for
  const order = [...left]
    .map((id) => ({ id, as: pieces.get(stood(id) ?? id) ?? pieces.get(id) }))
    .toSorted((a, b) => away(a.as, facts.rig) - away(b.as, facts.rig) || byTag(a.as ?? LAST, b.as ?? LAST))
  for (const { id } of order) {
    const [slot] = free
    if (slot) seat(slot, id)
  }
}
const LAST = { tag: '' }
/** Those whose home this is not come last. */
const away = (piece: Piece | undefined, rig: Id) =>
  Number(!(piece?.home?.at === 'rig' && piece.home.rig === rig))
