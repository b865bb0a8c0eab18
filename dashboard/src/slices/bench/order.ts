// Order of the bench for now: the longest wait first. Each line says why it matters, so that a better order can be seen later.
import type { Capability, Piece, Rig, Ticket } from '@/api/types'
import { levelWord } from '@/words/level'

export function openFirst(tickets: Ticket[]): Ticket[] {
  return tickets.toSorted((a, b) => a.opened_at.localeCompare(b.opened_at))
}

/** What hangs on this piece going home: said only where its home rig is short of something. */
export function becauseOf(
  piece: Piece | undefined,
  rig: (id: string) => Rig | undefined,
  capability: (id: string) => Capability | undefined,
): string {
  const home = piece?.home
  if (!home) return 'no home given'
  if (home.at !== 'rig') return 'goes to the reserve'
  const name = rig(home.rig)?.name ?? 'its rig'
  const level = capability(home.rig)?.level
  if (!level) return `belongs to ${name}`
  if (level === 'full') return `${name} is full without it`
  return `${name} is at ${levelWord(level).toLowerCase()}`
}
