// In which order the shop should take its tickets: as the server ranks them, or by age while nobody answers.
import type { BenchOrder, Piece, Rank, Ranked, Rig, RigStanding, Ticket } from '@/api/types'
import { levelWord } from '@/words/level'
import type { MarkWords } from '@/words/marks'

export function openFirst(tickets: Ticket[]): Ticket[] {
  return tickets.toSorted((a, b) => a.opened_at.localeCompare(b.opened_at))
}

/** Ranked ones in their order; those that were opened since come last, oldest first. */
export function inOrder(tickets: Ticket[], order: BenchOrder | null): Ticket[] {
  const byAge = openFirst(tickets)
  if (!order) return byAge
  const place = new Map(order.items.map((item, at) => [item.ticket, at]))
  const at = (ticket: Ticket) => place.get(ticket.id) ?? order.items.length
  return byAge.toSorted((a, b) => at(a) - at(b))
}

const STANDINGS: Record<Rank, MarkWords> = {
  only_full_rig: { shape: 'solid', tone: 'stop', word: 'Only full rig' },
  under_minimum: { shape: 'notched', tone: 'weak', word: 'Under minimum' },
  returns: { shape: 'joined', tone: 'sound', word: 'Restores a rig' },
  waits: { shape: 'ended', tone: 'quiet', word: 'Can wait' },
}
export const standingMark = (item: Ranked | undefined): MarkWords =>
  (item && STANDINGS[item.standing]) ?? { shape: 'unknown', tone: 'quiet', word: 'Not ranked yet' }

/** What hangs on this piece going home: said only where its home rig is short of something. */
export function becauseOf(
  piece: Piece | undefined,
  rig: (id: string) => Rig | undefined,
  standing: (id: string) => RigStanding | undefined,
): string {
  if (!piece) return 'its rig is not kept on this phone'
  const home = piece.home
  if (!home) return 'no home given'
  if (home.at !== 'rig') return 'goes to the reserve'
  const name = rig(home.rig)?.name ?? 'its rig'
  const level = standing(home.rig)?.level
  if (!level || level === 'not_judged') return `belongs to ${name}`
  const word = levelWord(level).toLowerCase()
  return `${name} is ${word} without it.`
}
