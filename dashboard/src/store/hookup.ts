// Turns a rig's answer into a join picture and into sentences. It computes nothing itself: what drives which tool, and through
// which hoses and adapters, is the server's answer, and only that is joined.
import type { Gap, Id, Kind, Model, Piece, RigStanding, Slot, Swap, Via } from '@/api/types'
import type { Join, MarkProps, PictureModel, Seat, SeatState, Zone } from '@/ui/picture/parts'
import { aboutIt, gapWords, nearWords } from '@/words/gap'
import { kindWord } from '@/words/piece'
import { seatsOf, type SeatFacts } from './seats'

export interface Known {
  piece(id: Id): Piece | undefined
  model(id: Id): Model | undefined
  /** What is to be seen of a piece: that it must not be used, or only with a limit. */
  trouble(piece: Piece): { state: 'out' | 'limit'; mark: MarkProps } | undefined
  /** Where a piece is that is not here, and when it is expected. */
  whereabouts(piece: Piece): { where: string; when?: string }
  fresh?(id: Id): string | undefined
  /** Whether the service cannot confirm that it may be used. */
  unconfirmed?(id: Id): boolean
}
export type Answer = Pick<RigStanding, 'needs' | 'fillings' | 'gaps' | 'critical'>
export interface Rigged {
  rig: Id
  slots: Slot[]
  answer: Answer | undefined
  /** Aboard, on the way here, or with their home here. */
  pieces: Piece[]
  swaps: Swap[]
  before?: SeatFacts['before']
  struck?: string
}

const ZONES: Partial<Record<Kind, Zone>> = {
  power_unit: 'source',
  hand_pump: 'source',
  battery: 'pack',
  hose: 'line',
  adapter: 'line',
  cutter: 'tool',
  spreader: 'tool',
  combination_tool: 'tool',
  ram: 'tool',
}
const zoneOf = (kind: Kind | undefined): Zone => (kind && ZONES[kind]) ?? 'gear'
const NOTHING = 'Nothing assigned'
const BESIDE = 'Beyond the list'

export function hookupOf(rigged: Rigged, known: Known): PictureModel {
  return drawn(rigged, known).model
}

/** The picture, and which piece sits in which slot. */
export function drawn(rigged: Rigged, known: Known): { model: PictureModel; at: Map<string, Id> } {
  const { answer, slots } = rigged
  if (!answer) return { model: { seats: [], joins: [], struck: rigged.struck }, at: new Map() }
  const seating = seatsOf({
    ...rigged,
    fillings: answer.fillings,
    gaps: answer.gaps,
    gear: (piece) => known.model(piece.model)?.gear,
  })
  const driven = drives(answer)
  const critical = new Set(telling(answer))
  const counted = new Set([...driven.keys(), ...[...driven.values()].flatMap(partsOf)])
  const seatOf = (piece: Piece, slot?: Slot): Seat => {
    const aboard = piece.place.at === 'rig' && piece.place.rig === rigged.rig
    const trouble = known.trouble(piece)
    const state: SeatState = !aboard
      ? 'away'
      : (trouble?.state ?? (counted.has(piece.id) ? 'counted' : 'idle'))
    const seat: Seat = {
      key: slot?.id ?? piece.id,
      zone: zoneOf(slot?.kinds[0] ?? piece.kind),
      state,
      title: slot?.name ?? kindWord(piece.kind),
      glyph: piece.kind,
      sub: piece.tag,
      critical: critical.has(piece.id),
      fresh: known.fresh?.(piece.id),
      name: '',
      ...(slot ? {} : { extra: true }),
    }
    if (!aboard) {
      const { where, when } = known.whereabouts(piece)
      Object.assign(seat, { why: where, when, quiet: slot?.required === false })
    } else if (trouble) seat.mark = trouble.mark
    else if (state === 'idle') seat.why = against(answer, piece, slot) ?? (slot ? undefined : BESIDE)
    if (aboard && !trouble && !seat.why && known.unconfirmed?.(piece.id)) seat.why = 'Not confirmed'
    if (driven.get(piece.id)?.by === 'own_pack') seat.own = 'own pack'
    return seat
  }
  const seats: Seat[] = slots.map((slot) => {
    const piece = known.piece(seating.at.get(slot.id) ?? '')
    return piece
      ? seatOf(piece, slot)
      : { ...emptySeat(slot.id, slot.name, slot.kinds[0]), quiet: !slot.required }
  })
  for (const piece of seating.beside) seats.push(seatOf(piece))
  for (const gap of unseated(answer.gaps, seats, slots))
    seats.push({
      ...emptySeat(`need-${gap.id}`, gap.name, gap.kinds[0]),
      why: gapWords(gap, known.piece),
      extra: true,
    })
  const keys = keysOf(seating.at, seating.beside)
  const joins = joinsOf(driven, keys)
  for (const seat of seats) seat.name = nameOf(seat, seats, joins)
  return { model: { seats, joins, struck: rigged.struck }, at: seating.at }
}

const emptySeat = (key: string, title: string, kind: Kind | undefined): Seat => ({
  key,
  zone: zoneOf(kind),
  state: 'empty',
  title,
  glyph: kind ?? 'accessory',
  why: NOTHING,
  name: '',
})

/** What drives each piece that is counted; null where it needs no drive. */
function drives(answer: Answer): Map<Id, Via | null> {
  const all = new Map<Id, Via | null>()
  for (const need of answer.needs)
    for (const { piece, via } of need.pieces) if (!all.get(piece)) all.set(piece, via ?? null)
  for (const { piece, via } of answer.fillings) if (piece && !all.get(piece)) all.set(piece, via ?? null)
  return all
}
const partsOf = (via: Via | null): Id[] =>
  via?.by === 'line' ? [via.source, ...via.parts] : via?.by === 'pack' ? [via.pack] : []

function keysOf(at: ReadonlyMap<string, Id>, beside: Piece[]): Map<Id, string> {
  const keys = new Map(beside.map((piece) => [piece.id, piece.id]))
  for (const [slot, piece] of at) keys.set(piece, slot)
  return keys
}

function joinsOf(driven: ReadonlyMap<Id, Via | null>, keys: ReadonlyMap<Id, string>): Join[] {
  const joins = new Map<string, Join>()
  for (const [tool, via] of driven) {
    const chain = [...partsOf(via), tool].map((id) => keys.get(id))
    for (const [i, to] of chain.entries()) {
      const from = chain[i - 1]
      if (i && from && to) joins.set(`${from}>${to}`, { from, to, by: via?.by === 'line' ? 'line' : 'pack' })
    }
  }
  return [...joins.values()]
}

/** Why a sound piece that is aboard does no work, as far as the server says. */
function against(answer: Answer, piece: Piece, slot: Slot | undefined): string | undefined {
  const gap =
    answer.gaps.find((one) => one.in === 'slot' && one.id === slot?.id) ??
    answer.gaps.find((one) => one.near.some((near) => near.piece === piece.id))
  const near = gap?.near.find((one) => one.piece === piece.id && one.code !== 'needed-elsewhere')
  return near ? aboutIt(nearWords(near, piece), piece).replace(`${piece.tag}: `, '') : undefined
}

/** Needs of kinds for which no seat is open: what the grade asks for and the list does not. */
function unseated(gaps: Gap[], seats: Seat[], slots: Slot[]): Gap[] {
  const open = new Set<Kind>(
    seats
      .filter((seat) => seat.state !== 'counted')
      .flatMap((seat) => slots.find((slot) => slot.id === seat.key)?.kinds ?? [seat.glyph as Kind]),
  )
  return gaps.filter(
    (gap) => gap.in === 'need' && !gap.runs_again && !gap.kinds.some((kind) => open.has(kind)),
  )
}

/** Critical pieces where they tell rigs apart: on a rig that can lose nothing at all the mark would stand everywhere. */
export function telling(answer: Pick<RigStanding, 'critical' | 'needs' | 'fillings'>): Id[] {
  const counted = new Set<Id>()
  for (const need of answer.needs)
    for (const { piece, via } of need.pieces) {
      counted.add(piece)
      if (via?.by === 'line') for (const id of [via.source, ...via.parts]) counted.add(id)
      if (via?.by === 'pack') counted.add(via.pack)
    }
  const all = [...counted]
  return all.length && all.every((id) => answer.critical.includes(id)) ? [] : answer.critical
}

const named = (seat: Seat) => (seat.sub ? `${seat.title} ${seat.sub}` : seat.title)
const STATES: Record<SeatState, string> = {
  counted: 'in service',
  idle: 'aboard',
  limit: 'in service',
  out: 'out of service',
  away: 'not aboard',
  empty: '',
}
const lower = (words: string) => words.charAt(0).toLowerCase() + words.slice(1)

/** "Cutter CU-104, in service, hooked to PU-102 by HO-131". */
function nameOf(seat: Seat, seats: Seat[], joins: Join[]): string {
  const tags = (keys: string[]) =>
    keys.map((key) => seats.find((one) => one.key === key)).flatMap((one) => one?.sub ?? one?.title ?? [])
  const said = [named(seat), seat.mark ? lower(seat.mark.word) : STATES[seat.state]]
  for (const words of [seat.why, seat.when]) if (words) said.push(lower(words))
  const chain = chainTo(seat.key, joins)
  const pack = joins.some((join) => join.to === seat.key && join.by === 'pack')
  const [source, ...line] = tags(chain)
  if (seat.own) said.push('runs on its own pack')
  else if (source && pack) said.push(`runs on ${source}`)
  else if (source) said.push(`hooked to ${source}${line.length ? ` by ${line.join(' and ')}` : ''}`)
  const ends = tags(joins.filter((join) => join.from === seat.key).map((join) => join.to))
  if (ends.length) said.push(`leads to ${ends.join(', ')}`)
  if (seat.critical) said.push('critical')
  return said.filter(Boolean).join(', ')
}

/** From the source on, without the seat itself. */
function chainTo(key: string, joins: Join[]): string[] {
  const chain: string[] = []
  for (let at = key; chain.length < joins.length;) {
    const from = joins.find((join) => join.to === at)?.from
    if (!from) break
    chain.unshift(from)
    at = from
  }
  return chain
}

/** The picture as sentences: what the printed sheet says, and whoever reads rather than looks. */
export const hookupSentences = (model: PictureModel): string[] => model.seats.map((seat) => `${seat.name}.`)
