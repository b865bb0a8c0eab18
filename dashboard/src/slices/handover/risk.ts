// What the next shift must know of each rig: what it falls short of, what its list misses, what checks do not confirm, what is overdue,
// and what is not aboard. Every line is the records' answer, said as other screens say it.
import type { Defect, Id, Piece, PieceStanding, PlanDue, Rig, RigStanding, Ticket } from '@/api/types'
import type { SeenPiece, SeenRig } from '@/store/foresee'
import { dueState, type DueState } from '@/words/due'
import { isUnasked } from '@/words/expects'
import { conditionWords, foundWords } from '@/words/found'
import { gapWords } from '@/words/gap'
import { levelOrder, levelWord } from '@/words/level'
import { byName } from '@/words/order'
import { kindWord } from '@/words/piece'
import { moment, spoken } from '@/words/time'
import { verdictWords } from '@/words/verdict'
import { whyOf } from '@/words/why'
import { dayNamed, namedWords } from './handover'

/** A rig, or the reserve shelf of a station, with what belongs to it. */
export interface At {
  key: string
  name: string
  /** Null: a shelf. */
  rig: Rig | null
  standing: RigStanding | undefined
  seen: SeenRig | undefined
  here: readonly Piece[]
  /** Its own pieces that are somewhere else. */
  away: readonly Piece[]
}
/** How the records and this device know a piece. */
export interface Known {
  piece(id: Id): Piece | undefined
  seen(id: Id): SeenPiece
  /** The verdict as a list of pieces has it. */
  word(piece: Piece): string
  dues(piece: Id): readonly PlanDue[]
  defects(piece: Id): Defect[]
  where(piece: Piece): string
  ticket(piece: Id): Ticket | undefined
}
export interface Risk {
  at: At
  lines: string[]
}

const count = (n: number, what: string) => `${n} ${n === 1 ? what : `${what}s`}`
const tags = (pieces: readonly Piece[]) => pieces.map((piece) => piece.tag).join(', ')
const serves = (at: At) => Boolean(at.rig?.in_service) && at.rig?.duty !== 'stripped_reserve'
const front = (at: At) => Boolean(at.rig?.in_service) && at.rig?.duty === 'front_line'
const judged = (standing: RigStanding | undefined) =>
  standing !== undefined && standing.level !== 'not_judged'

/** Not counted now is not as expected: nobody can say that it is. No grade met is short, whatever is expected. */
export function isShort(at: At): boolean {
  const { standing, seen } = at
  if (!front(at) || standing?.level === 'not_judged') return false
  if (!standing || !seen?.counted || standing.level === 'none') return true
  return levelOrder(seen.level) < levelOrder(standing.expects)
}

function listWords(at: At, said: readonly string[], known: Known, now: Date): string[] {
  if (at.standing?.completeness !== 'incomplete') return []
  const open = at.standing.gaps.filter((gap) => gap.in === 'slot' && gap.required)
  const missing = open.map((gap) => {
    const why = gapWords(gap, known.piece, now)
    return said.some((line) => line.includes(why)) ? gap.name : `${gap.name} (${why})`
  })
  return [missing.length ? `List incomplete: ${missing.join(', ')}` : 'List incomplete']
}

function doubtWords({ standing }: At, known: Known, now: Date): string[] {
  if (!standing || !judged(standing) || standing.level === 'none' || standing.confirmed) return []
  const [first] = standing.doubts
  const pieces = [...new Set(standing.doubts.flatMap((doubt) => doubt.piece ?? []))]
  const named = pieces.map((id) => known.piece(id)?.tag ?? 'a piece').join(', ')
  const parts = [
    pieces.length ? `${count(pieces.length, 'piece')} in doubt (${named})` : '',
    `checked pieces alone reach ${levelWord(standing.confirmed_level).toLowerCase()}`,
    first ? `first: ${spoken(foundWords(first, first.piece ? known.defects(first.piece) : []), now)}` : '',
  ]
  return [`Level not confirmed: ${parts.filter(Boolean).join('; ')}`]
}

/** Pieces in service that the records give no yes for, by what they say instead. */
function verdictLines({ here }: At, known: Known): string[] {
  const groups = new Map<string, Piece[]>()
  for (const piece of here) {
    if (piece.state !== 'in_service') continue
    const { verdict, counted } = known.seen(piece.id)
    if (counted && (verdict === 'yes' || verdict === 'yes_with_limit')) continue
    const word = known.word(piece)
    groups.set(word, [...(groups.get(word) ?? []), piece])
  }
  return [...groups].map(([word, list]) => `${word}: ${count(list.length, 'piece')} (${tags(list)})`)
}

const careful = (piece: Piece) => piece.state === 'in_service' || piece.state === 'out_of_service'
const duesHere = ({ here }: At, known: Known) => here.filter(careful).flatMap(({ id }) => known.dues(id))

function checkLines(at: At, known: Known, now: Date): string[] {
  const dues = duesHere(at, known)
  const of = (state: DueState) => dues.filter(({ due }) => dueState(due, now) === state)
  const kinds = (list: readonly PlanDue[]) => {
    const names = new Map<string, number>()
    for (const { name } of list) names.set(name, (names.get(name) ?? 0) + 1)
    return [...names].map(([name, n]) => (n > 1 ? `${name} (${n})` : name)).join(', ')
  }
  const [late, unknown] = [of('overdue'), of('unknown')]
  const since = late.flatMap(({ due }) => (due.state === 'at' ? [due.at] : [])).toSorted()[0]
  return [
    late.length ? `${count(late.length, 'check')} overdue since ${moment(since, now)}: ${kinds(late)}` : '',
    unknown.length ? `${count(unknown.length, 'check')} with no known date: ${kinds(unknown)}` : '',
  ].filter(Boolean)
}

function awayWords(piece: Piece, known: Known, now: Date): string {
  const where = piece.state === 'missing' ? `missing, last known: ${known.where(piece)}` : known.where(piece)
  const day = namedWords(dayNamed(piece, known.ticket(piece.id)), now)
  return `Away: ${piece.tag} ${kindWord(piece.kind).toLowerCase()}. ${where}, ${day || 'no date given'}`
}

/** Everything about one rig or shelf that is not as it should be, or that nobody can say; none: nothing of it on record. */
export function linesOf(at: At, known: Known, now: Date): string[] {
  const short = isShort(at)
  const why = short ? whyOf(at.standing, known.piece, now) : []
  const waits = at.rig?.in_service && at.seen && !at.seen.counted ? at.seen.words : ''
  return [
    ...(waits ? [waits] : []),
    ...why,
    ...(serves(at) ? [...listWords(at, why, known, now), ...doubtWords(at, known, now)] : []),
    ...verdictLines(at, known),
    ...checkLines(at, known, now),
    ...at.away.map((piece) => awayWords(piece, known, now)),
  ]
}

/** Those with something to say: what falls short first, rigs before shelves, by name as people count. */
export function risksOf(all: readonly At[], known: Known, now: Date): Risk[] {
  const rank = (at: At) => (at.rig ? (isShort(at) ? 0 : 1) : 2)
  return all
    .map((at) => ({ at, lines: linesOf(at, known, now) }))
    .filter(({ at, lines }) => lines.length > 0 || isShort(at))
    .toSorted((a, b) => rank(a.at) - rank(b.at) || byName(a.at, b.at))
}

/** Of what nothing can be said, because nobody has set it: so that no silence reads as a yes. */
export function unsetWords(all: readonly At[], known: Known): string[] {
  const rigs = all.filter(serves)
  const of = (n: number) => (n === rigs.length ? 'any rig here' : `${n} of ${rigs.length} rigs`)
  const sum = (is: (at: At) => boolean) => rigs.filter(is).length
  const unjudged = sum((at) => at.standing?.level === 'not_judged')
  const unasked = sum((at) => front(at) && isUnasked(at.standing))
  const listless = sum((at) => at.standing?.completeness === 'no_list')
  const unplanned = sum((at) => at.here.length > 0 && !duesHere(at, known).length)
  const bare = sum((at) => !at.here.length)
  return [
    unjudged ? `Grades not set: the level of ${of(unjudged)} is not judged.` : '',
    unasked ? `What is expected of ${of(unasked)} is not set.` : '',
    listless ? `No list is set for ${of(listless)}: whether it is complete nobody can say.` : '',
    unplanned ? `No check plan covers what is aboard of ${of(unplanned)}.` : '',
    bare ? `Nothing is on record aboard ${of(bare)}.` : '',
  ].filter(Boolean)
}

/** Where no rig has anything to say: exactly what was looked at, and only that. */
export function wellWords(all: readonly At[], known: Known): string {
  const rigs = all.filter(serves)
  if (!rigs.length) return 'No rig in service here.'
  const every = (is: (at: At) => boolean) => rigs.every(is)
  const looked = [
    every((at) => at.standing?.completeness === 'complete') ? 'every list complete' : '',
    every((at) => judged(at.standing) && Boolean(at.standing?.confirmed)) ? 'every level confirmed' : '',
    every((at) => duesHere(at, known).length > 0) ? 'no check overdue' : '',
    'no piece away from its rig',
  ]
  return `By the records: ${looked.filter(Boolean).join(', ')}.`
}

/** An open fault on a piece in service: the answer for the piece first, wherever it is not a yes; then what was found, and on what
 *  condition it may be used, as far as it may. */
export function faultWords(
  defect: Pick<Defect, 'what' | 'limit'>,
  piece: Piece | undefined,
  standing: PieceStanding | undefined,
  seen: SeenPiece,
  now: Date,
): string {
  const what = defect.what.trim().replace(/[.;,\s]+$/, '')
  const { verdict } = seen
  const no = verdict === 'no' && !seen.counted && seen.words ? `No: ${seen.words}` : ''
  const plain = seen.counted && (verdict === 'yes' || verdict === 'yes_with_limit')
  const answer = no || (plain ? '' : standing ? verdictWords(standing, piece, now) : 'Not known yet')
  const condition = defect.limit ? conditionWords(defect.limit.words) : ''
  const usable =
    verdict === 'no'
      ? ''
      : verdict === 'not_on_this_rig' && condition
        ? `On a rig that it fits: ${condition.charAt(0).toLowerCase()}${condition.slice(1)}`
        : condition
  // The answer quotes the fault already where the fault is the reason.
  return [answer, answer.includes(what) ? '' : what, answer.includes(condition) ? '' : usable]
    .filter(Boolean)
    .join('. ')
}
