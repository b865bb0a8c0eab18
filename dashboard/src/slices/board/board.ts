// The board's own reading of the replica: which rigs, in which district, what must be mended first, and why in one line.
// It counts the answers of the records and judges none of them.
import type { Defect, District, Duty, Level, OutAt, Piece, Rig, RigStanding, Station } from '@/api/types'
import type { SeenRig } from '@/store/foresee'
import { foundWords } from '@/words/found'
import { completenessShort, isFull, levelOrder, type Headline } from '@/words/level'
import { spoken } from '@/words/time'
import { byName } from '@/words/order'
import { whyOf } from '@/words/why'

export interface BoardRig {
  rig: Rig
  station: Station | undefined
  standing: RigStanding | undefined
  seen: SeenRig
  /** Null: nothing is expected of it, or its answer is not counted now. */
  asExpected: boolean | null
  why: string[]
  /** Small words beside the level: the list, and what is not confirmed. */
  small: string[]
}
export interface BoardDistrict {
  id: string
  name: string
  minimum: number
  full: number
  expected: number
  able: number
  confirmed: number
  notCounted: number
  counts: Record<Level, number>
  short: boolean
  minimumAboveExpected: boolean
  /** Nobody has said what any of its rigs should reach. */
  unasked: boolean
  rigs: BoardRig[]
}
/** Reserve rigs and rigs that are out: in no count. */
export interface ApartRig {
  rig: Rig
  station: Station | undefined
  seen: SeenRig
  duty: Duty
  out: OutAt | 'out' | null
}
export interface Board {
  districts: BoardDistrict[]
  apart: ApartRig[]
}
export interface Filter {
  district: string
  level: string
  text: string
}
export interface BoardFacts {
  districts: District[]
  rigs: Rig[]
  station(id: string): Station | undefined
  standing(id: string): RigStanding | undefined
  seen(id: string): SeenRig
  piece(id: string): Piece | undefined
  /** False on a phone that keeps one station only. */
  whole: boolean
  /** The district of whoever looks: it stands first. */
  own?: string | null
  defects?(piece: string): Defect[]
}

/** "list incomplete", "not confirmed: ram RM-7: annual service 39 days overdue". */
export function smallOf(
  standing: RigStanding | undefined,
  now = new Date(),
  defects: (piece: string) => Defect[] = () => [],
): string[] {
  if (!standing) return []
  const list = [completenessShort(standing.completeness)]
  if (standing.level !== 'not_judged' && standing.level !== 'none' && !standing.confirmed) {
    const [first, ...more] = standing.doubts
    const rest = more.length ? `, and ${more.length} more` : ''
    list.push(
      first
        ? `not confirmed: ${spoken(foundWords(first, first.piece ? defects(first.piece) : []), now)}${rest}`
        : 'not confirmed',
    )
  }
  return list.filter(Boolean)
}

function metOf(standing: RigStanding | undefined, seen: SeenRig): boolean | null {
  if (!standing?.expects || standing.level === 'not_judged') return null
  if (seen.lowered) return false
  return seen.counted ? levelOrder(standing.level) >= levelOrder(standing.expects) : null
}

export function buildBoard(facts: BoardFacts, now = new Date()): Board {
  const rows = new Map<string, BoardDistrict>()
  const row = (id: string, name: string, minimum: number) => {
    let known = rows.get(id)
    if (!known) rows.set(id, (known = emptyDistrict(id, name, minimum)))
    return known
  }
  const apart: ApartRig[] = []
  for (const d of facts.districts.toSorted(byName)) row(d.id, d.name, d.min_full)
  for (const rig of facts.rigs) {
    const station = facts.station(rig.station)
    const seen = facts.seen(rig.id)
    if (!rig.in_service || rig.duty !== 'front_line') {
      const out = rig.in_service ? null : (rig.out_at ?? 'out')
      apart.push({ rig, station, seen, duty: rig.duty, out })
      continue
    }
    const standing = facts.standing(rig.id)
    const into = rows.get(station?.district ?? '') ?? row('', 'No district', 0)
    count(into, standing, seen)
    into.rigs.push({
      rig,
      station,
      standing,
      seen,
      asExpected: metOf(standing, seen),
      why: [...(seen.words ? [seen.words] : []), ...whyOf(standing, facts.piece, now)],
      small: smallOf(standing, now, facts.defects),
    })
  }
  // Where only one station is kept, nothing is known of the other rigs of its district, nor of other districts.
  const list = [...rows.values()].filter((d) => facts.whole || d.rigs.length)
  for (const d of list) {
    // Only rigs that should be full are missed: where nobody has said which should, none is.
    d.unasked = d.rigs.length > 0 && d.rigs.every((row) => !row.standing?.expects)
    d.short = facts.whole && d.counts.not_judged < d.rigs.length && d.full < d.minimum && !d.unasked
    d.minimumAboveExpected = facts.whole && d.rigs.length > 0 && d.minimum > d.expected && !d.unasked
    d.rigs.sort(
      (a, b) =>
        rank(a) - rank(b) || levelOrder(a.seen.level) - levelOrder(b.seen.level) || byName(a.rig, b.rig),
    )
  }
  const own = (d: BoardDistrict) => Number(Boolean(facts.own) && d.id === facts.own)
  list.sort((a, b) => own(b) - own(a) || Number(b.short) - Number(a.short) || byName(a, b))
  apart.sort((a, b) => byName(a.rig, b.rig))
  return { districts: list, apart }
}

/** What falls short of what is expected stands first, then what is not known, then the rest. */
const rank = (row: BoardRig) => (row.asExpected === false ? 0 : row.asExpected === null ? 1 : 2)

const emptyDistrict = (id: string, name: string, minimum: number): BoardDistrict => ({
  id,
  name,
  minimum,
  full: 0,
  expected: 0,
  able: 0,
  confirmed: 0,
  notCounted: 0,
  counts: { not_judged: 0, none: 0, limited: 0, full: 0, heavy: 0 },
  short: false,
  minimumAboveExpected: false,
  unasked: false,
  rigs: [],
})

function count(into: BoardDistrict, standing: RigStanding | undefined, seen: SeenRig) {
  const expected = isFull(standing?.expects)
  if (expected) into.expected += 1
  if (!standing) return
  if (!seen.counted) {
    into.notCounted += 1
    return
  }
  into.counts[standing.level] += 1
  if (!isFull(standing.level)) return
  into.full += 1
  if (!expected) return
  into.able += 1
  if (standing.confirmed) into.confirmed += 1
}

export function headlineOf(districts: BoardDistrict[]): Headline {
  const sum = (of: (d: BoardDistrict) => number) => districts.reduce((n, d) => n + of(d), 0)
  return {
    full: sum((d) => d.full),
    expected: sum((d) => d.expected),
    able: sum((d) => d.able),
    confirmed: sum((d) => d.confirmed),
    notCounted: sum((d) => d.notCounted),
  }
}

const OUT: Record<OutAt | 'out', string> = {
  mechanic: 'at the mechanic',
  lent: 'lent',
  other: 'out of service',
  out: 'out of service',
}
export const outWord = (out: OutAt | 'out') => OUT[out]
export const DUTIES: Record<Duty, string> = {
  front_line: 'front line',
  ready_reserve: 'ready reserve',
  stripped_reserve: 'stripped reserve',
}
export const apartWord = (one: ApartRig) => (one.out ? outWord(one.out) : DUTIES[one.duty])

/** "2 ready reserve, 1 at the mechanic". */
export function apartWords(apart: ApartRig[]): string {
  const counts = new Map<string, number>()
  for (const one of apart) counts.set(apartWord(one), (counts.get(apartWord(one)) ?? 0) + 1)
  return [...counts].map(([word, n]) => `${n} ${word}`).join(', ')
}

export function filterBoard(board: BoardDistrict[], filter: Filter): BoardDistrict[] {
  const text = filter.text.trim().toLowerCase()
  return board
    .filter((d) => !filter.district || d.id === filter.district)
    .map((d) => ({
      ...d,
      rigs: d.rigs.filter((r) => {
        if (filter.level && (!r.seen.counted || r.seen.level !== filter.level)) return false
        const words = `${r.rig.name} ${r.station?.name ?? ''} ${r.why.join(' ')} ${r.small.join(' ')}`
        return !text || words.toLowerCase().includes(text)
      }),
    }))
    .filter((d) => d.rigs.length > 0 || (!filter.level && !text))
}
