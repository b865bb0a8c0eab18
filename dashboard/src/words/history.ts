// What a journal says happened, one line for each act: to which piece, and what it made of the rig's level.
import type { HistoryItem, Id, Level } from '@/api/types'
import { levelOrder, levelWord } from './level'
import { moment, spoken } from './time'

/** Who did it, after "by": what runs out as time passes does so by itself, and the journal calls it the clock's. */
export const whoWords = (name: string) => (name === 'the clock' ? 'itself' : name)

/** Time of the act first; when it came in much later, that is said too. */
export function historyLine(item: HistoryItem, now: Date) {
  const late = item.received_at ? Date.parse(item.received_at) - Date.parse(item.at) : 0
  return {
    key: `${item.revision}-${item.kind}-${item.at}`,
    when: moment(item.at, now),
    who: whoWords(item.by.name),
    words: item.words,
    late: late > 120_000 && item.received_at ? `came in ${moment(item.received_at, now)}` : undefined,
  }
}

/** Where a use that the journal names is corrected: at the rig that it was recorded on. */
export function useAt({ kind, body }: HistoryItem): { use: string; href: string } | undefined {
  const { id, rig } = body as { id?: unknown; rig?: unknown }
  return kind === 'use.record' && typeof id === 'string' && typeof rig === 'string'
    ? { use: id, href: `/rigs/${rig}/use?correct=${id}` }
    : undefined
}

export interface LevelStep {
  from: Level
  to: Level
}
const levelOf = (item: HistoryItem | undefined) => (item?.record as { level?: Level } | undefined)?.level

/** What acts made of a rig's level, by their revision. `standings`: the journal of its standing, newest first. */
export function levelSteps(standings: readonly HistoryItem[]): Map<number, LevelStep> {
  const steps = new Map<number, LevelStep>()
  for (const [i, item] of standings.entries()) {
    const [from, to] = [levelOf(standings[i + 1]), levelOf(item)]
    if (from && to && from !== to) steps.set(item.revision, { from, to })
  }
  return steps
}

/** "Engine 4 dropped from full to limited". */
export function stepWords(rig: string, { from, to }: LevelStep): string {
  const word = levelWord(to).toLowerCase()
  if (from === 'not_judged') return `${rig} was judged for the first time: ${word}`
  const verb = levelOrder(to) < levelOrder(from) ? 'dropped' : 'came up'
  return `${rig} ${verb} from ${levelWord(from).toLowerCase()} to ${word}`
}

/** What a stand-in's act names beside the piece itself. */
export function standsFor({ kind, body }: HistoryItem): { rig?: Id; piece?: Id } {
  const { rig, stands_in_for: piece } = body as { rig?: Id; stands_in_for?: Id | null }
  return kind === 'swap.start' ? { ...(rig ? { rig } : {}), ...(piece ? { piece } : {}) } : {}
}

/** Acts on what rides on a rig; what only had its answer worked out again is told where its level changed. */
const ABOUT = /^(piece|defect|swap|use|check|ticket|crew|rig)\./

interface Read {
  items: readonly HistoryItem[]
  /** There is more that was not read yet. */
  more: boolean
}
/**
 * The acts of a rig's own journal, of that of its standing, and on what rides on it, each once, newest first. An act that left the rig's
 * answer as it was stands in the last alone: a use, a look-over, most checks. Where one of them has more that was not read yet, it ends
 * where that begins: nothing is left out in between.
 */
export function actsOf(own: Read, standings: Read, aboard: Read = { items: [], more: false }): HistoryItem[] {
  const oldest = ({ items, more }: Read) => (more ? (items.at(-1)?.revision ?? Infinity) : 0)
  const from = Math.max(oldest(own), oldest(standings), oldest(aboard))
  const steps = levelSteps(standings.items)
  const told = [...aboard.items, ...standings.items].filter(
    (item) => ABOUT.test(item.kind) || steps.has(item.revision),
  )
  const acts = new Map([...told, ...own.items].map((item) => [item.revision, item]))
  return [...acts.values()]
    .filter((item) => item.revision >= from)
    .toSorted((a, b) => b.revision - a.revision)
}

/** So long one goes over a rig, in milliseconds. */
const SITTING = 3_600_000

/** Acts, newest first, with the checks that one person made one after another as one. */
export function sittings(acts: readonly HistoryItem[]): HistoryItem[][] {
  const groups: HistoryItem[][] = []
  for (const item of acts) {
    const group = groups.at(-1)
    const before = group?.[0]
    const together =
      before?.kind === 'check.record' &&
      item.kind === before.kind &&
      item.by.name === before.by.name &&
      Math.abs(Date.parse(before.at) - Date.parse(item.at)) <= SITTING
    if (together && group) group.push(item)
    else groups.push([item])
  }
  return groups
}

/** "C-12, PU-1, S-3 and 5 more". */
export function tagsWords(tags: readonly string[], most = 3): string {
  if (tags.length <= most + 1) return tags.join(', ')
  return `${tags.slice(0, most).join(', ')} and ${tags.length - most} more`
}

/** What was done; the clock's own act says what it means. */
export const doneWords = (item: HistoryItem, now: Date) =>
  item.kind === 'clock.settle' ? 'A check or a service life ran out' : spoken(item.words, now)
