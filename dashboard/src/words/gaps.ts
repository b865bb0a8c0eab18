// The gaps of a rig as rows to read: what one missing part holds up stands under that part, once.
import type { Gap } from '@/api/types'

export interface GapRow {
  key: string
  /** The needs or the slot. */
  names: string[]
  /** The gap whose remedies mend the row. */
  mends: Gap
  /** Every gap of the row: its reasons are told. */
  gaps: Gap[]
  /** "runs again with a power unit on ...": the tools are aboard and sound. */
  again: string
}

/** In the order in which the server names the gaps. */
export function gapRows(gaps: readonly Gap[]): GapRow[] {
  const rows: GapRow[] = []
  const needed = new Set(gaps.filter((gap) => gap.in === 'need').flatMap((gap) => gap.kinds))
  const held = new Map<string, GapRow>()
  for (const gap of gaps.filter((one) => one.in === 'need')) {
    const again = gap.runs_again?.words ?? ''
    const known = again ? held.get(again) : undefined
    if (known) {
      known.names.push(gap.name)
      known.gaps.push(gap)
      continue
    }
    const row = { key: `need:${gap.id}`, names: [gap.name], mends: gap, gaps: [gap], again }
    rows.push(row)
    if (again) held.set(again, row)
  }
  for (const gap of gaps.filter((one) => one.in === 'slot')) {
    // The part that a row waits for: it is the same gap.
    const waiting = rows.find((row) =>
      row.gaps[0]?.runs_again?.kinds.some((kind) => gap.kinds.includes(kind)),
    )
    if (waiting) {
      if (waiting.mends.in === 'need') waiting.mends = gap
      waiting.gaps.push(gap)
    } else if (!gap.kinds.some((kind) => needed.has(kind))) {
      // What the list misses of a kind that the grade misses too is the same gap; the list itself shows it open.
      rows.push({ key: `slot:${gap.id}`, names: [gap.name], mends: gap, gaps: [gap], again: '' })
    }
  }
  return rows
}

/** "Spreader, Cutter and Ram". */
export const namesWords = (names: string[]) =>
  names.length < 2 ? (names[0] ?? '') : `${names.slice(0, -1).join(', ')} and ${names.at(-1)}`

/** "run again with ..." of several. */
export const againWords = (row: GapRow) =>
  row.names.length > 1 ? row.again.replace(/^runs again/, 'run again') : row.again
