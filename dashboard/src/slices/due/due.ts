// What is due to be checked, by rig and by shelf: what is late, what is due in the days ahead, and what nobody can say. Everything
// comes from the standings that the server worked out; nothing is decided here.
import type { CheckDue, CheckSigner, Id, Piece, PlanDue } from '@/api/types'
import { dueState } from '@/words/due'
import { byName, byTag } from '@/words/order'

export const AHEAD_DAYS = 7

/** Where pieces lie together: a rig that can be walked round, or a shelf. */
export interface Place {
  key: string
  name: string
  rig: Id | null
  /** The station that it belongs to. */
  station: Id
}
export interface PlanPieces {
  plan: Id
  name: string
  signer: CheckSigner | undefined
  pieces: Piece[]
}
/** What falls due at the same time and counts until the same time. */
export interface DueLine {
  key: string
  due: CheckDue
  plans: PlanPieces[]
  count: number
}
export interface DueAt {
  place: Place
  late: DueLine[]
  ahead: DueLine[]
  unknown: DueLine[]
  /** How many checks of each. */
  counts: { late: number; ahead: number; unknown: number }
}

const lineKey = (due: CheckDue) =>
  due.state === 'at' ? `${due.at} ${due.counts_from ?? ''}` : `${due.state} ${due.why}`
const at = (line: DueLine | undefined) => (line?.due.state === 'at' ? Date.parse(line.due.at) : Infinity)
const ends = (line: DueLine) =>
  line.due.state === 'at' && line.due.counts_from ? Date.parse(line.due.counts_from) : Infinity
const count = (lines: DueLine[]) => lines.reduce((sum, line) => sum + line.count, 0)

/** Puts what is due of one place into lines. Nothing that lies further ahead, and nothing that only a use makes due. */
function dueAt(
  place: Place,
  pieces: Piece[],
  duesOf: (piece: Id) => PlanDue[],
  signerOf: (plan: Id) => CheckSigner | undefined,
  now: Date,
): DueAt {
  const end = now.getTime() + AHEAD_DAYS * 86_400_000
  const parts = {
    late: new Map<string, DueLine>(),
    ahead: new Map<string, DueLine>(),
    unknown: new Map<string, DueLine>(),
  }
  for (const piece of pieces.toSorted(byTag)) {
    for (const { plan, name, due } of duesOf(piece.id)) {
      const state = dueState(due, now)
      if (state === 'not_yet' || (due.state === 'at' && Date.parse(due.at) > end)) continue
      const lines = parts[state === 'overdue' ? 'late' : state === 'unknown' ? 'unknown' : 'ahead']
      const key = lineKey(due)
      let line = lines.get(key)
      if (!line) lines.set(key, (line = { key, due, plans: [], count: 0 }))
      const known = line.plans.find((one) => one.plan === plan)
      if (known) known.pieces.push(piece)
      else line.plans.push({ plan, name, signer: signerOf(plan), pieces: [piece] })
      line.count += 1
    }
  }
  const inOrder = (lines: Map<string, DueLine>) =>
    [...lines.values()]
      .map((line) => ({ ...line, plans: line.plans.toSorted(byName) }))
      .toSorted((a, b) => at(a) - at(b) || ends(a) - ends(b))
  const [late, ahead, unknown] = [inOrder(parts.late), inOrder(parts.ahead), inOrder(parts.unknown)]
  return {
    place,
    late,
    ahead,
    unknown,
    counts: { late: count(late), ahead: count(ahead), unknown: count(unknown) },
  }
}

/** Every place with something due: what is late longest first, then what is due first, then by name. */
export function duesBy(
  places: { place: Place; pieces: Piece[] }[],
  duesOf: (piece: Id) => PlanDue[],
  signerOf: (plan: Id) => CheckSigner | undefined,
  now: Date,
): DueAt[] {
  return places
    .map(({ place, pieces }) => dueAt(place, pieces, duesOf, signerOf, now))
    .filter(({ counts }) => counts.late + counts.ahead + counts.unknown > 0)
    .toSorted((a, b) => {
      const [x, y] = [Math.min(at(a.late[0]), at(a.ahead[0])), Math.min(at(b.late[0]), at(b.ahead[0]))]
      return (x === y ? 0 : x - y) || byName(a.place, b.place)
    })
}

/** "3 checks are overdue, 41 more are due by Sat 5 Dec", as the headline says it. */
export function headWords(dues: DueAt[]): string {
  const sum = (of: keyof DueAt['counts']) => dues.reduce((n, one) => n + one.counts[of], 0)
  const [late, ahead, unknown] = [sum('late'), sum('ahead'), sum('unknown')]
  const checks = (n: number) => `${n} ${n === 1 ? 'check' : 'checks'}`
  const parts = [
    late ? `${checks(late)} overdue` : '',
    ahead ? `${late ? ahead : checks(ahead)} due in the next ${AHEAD_DAYS} days` : '',
    unknown ? `${late || ahead ? unknown : checks(unknown)} with no known date` : '',
  ].filter(Boolean)
  return parts.join(', ') || 'Nothing is due'
}
