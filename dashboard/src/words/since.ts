// What became of each rig since an instant: the change from then to now, and the act that made it so.
import type { BoardChange, Level } from '@/api/types'
import { levelOrder, levelWord } from './level'

export interface SinceRow {
  rig: string
  name: string
  station: string
  from: Level | null
  to: Level
  /** The newest change: by whom, and what was done. */
  last: BoardChange
  /** How often its level changed. */
  times: number
  became: 'dropped' | 'back' | 'same'
}

/** One row for a rig, whatever it went through; what dropped stands first, then what came back, each the newest first. */
export function sinceRows(items: readonly BoardChange[]): SinceRow[] {
  const rigs = new Map<string, BoardChange[]>()
  for (const item of items) rigs.set(item.rig, [...(rigs.get(item.rig) ?? []), item])
  const rows = [...rigs.values()].flatMap((list) => {
    const inOrder = list.toSorted((a, b) => a.revision - b.revision)
    const [first, last] = [inOrder[0], inOrder.at(-1)]
    if (!first || !last) return []
    const from = first.from ?? null
    const by = levelOrder(last.to) - levelOrder(from)
    return {
      ...{ rig: last.rig, name: last.rig_name, station: last.station_name, from, to: last.to, last },
      times: list.length,
      became: by < 0 ? ('dropped' as const) : by > 0 ? ('back' as const) : ('same' as const),
    }
  })
  const rank = { dropped: 0, back: 1, same: 2 }
  return rows.toSorted((a, b) => rank[a.became] - rank[b.became] || b.last.revision - a.last.revision)
}

/** "2 dropped, 1 came up", and that nothing did. */
export function sinceWords(rows: readonly SinceRow[]): string {
  const count = (became: SinceRow['became']) => rows.filter((row) => row.became === became).length
  const parts = [
    [count('dropped'), 'dropped'],
    [count('back'), 'came up'],
    [count('same'), 'dropped and came up again'],
  ].flatMap(([n, word]) => (n ? `${n} ${word}` : []))
  return parts.length ? parts.join(', ') : 'no rig changed its level'
}

/** What a rig was, beside what it is: "was full". */
export function wasWords({ from, became }: Pick<SinceRow, 'from' | 'became'>): string {
  if (!from) return 'new'
  return became === 'same' ? 'dropped and back' : `was ${levelWord(from).toLowerCase()}`
}

/** What was done, and by whom; a date that ran out was nobody's doing. */
export function didWords({ kind, words, by }: BoardChange): string {
  if (kind === 'clock.settle') return 'a check or a service life ran out'
  const done = words ?? 'what was done is not on record'
  return by?.name ? `${done}, by ${by.name}` : done
}
