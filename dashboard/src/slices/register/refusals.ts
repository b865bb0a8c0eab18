// The refused rows of a file as a file of their own: each with its cells as they stood there, and why it was refused. Once corrected it is
// read like any other; the column with the reasons is known and left out.
import type { ImportRun } from '@/api/types'

/** As the register's reader knows the column. */
export const WHY = 'Why it was refused'

/** Signs with which a spreadsheet begins to calculate; an apostrophe before them is taken back by the reader. */
const FORMULA = /^[=+\-@\uff1d\uff0b\uff0d\uff20]/

function cell(text: string): string {
  const plain = FORMULA.test(text) ? `'${text}` : text
  return `"${plain.replaceAll('"', '""')}"`
}

const line = (cells: string[]) => `${cells.map(cell).join(',')}\r\n`

/** Rows that were corrected in place, by their lines, under the file's own headings. */
export function correctedFile(run: ImportRun, rows: Map<number, string[]>): string {
  return `\ufeff${line(run.columns.map((one) => one.column))}${[...rows.values()].map(line).join('')}`
}

export function refusalsFile(run: ImportRun): string {
  const heads = run.columns.map((one) => one.column)
  const why = new Map(run.refused.map((row) => [row.line, [row.reason, row.hint, ...(row.also ?? [])]]))
  const rows = (run.rows ?? []).filter((row) => row.fate === 'refused' && row.cells)
  const words = (at: number) => (why.get(at) ?? []).filter(Boolean).join('; ')
  // A spreadsheet takes it for something else without the mark at its beginning. The reasons stand before cells that have no column.
  const told = (row: (typeof rows)[number]) => {
    const own = row.cells ?? []
    const cells = heads.map((_, i) => own[i] ?? '')
    return line([...cells, words(row.line), ...own.slice(heads.length)])
  }
  return `\ufeff${line([...heads, WHY])}${rows.map(told).join('')}`
}
