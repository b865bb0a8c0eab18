/** A file for spreadsheets (RFC 4180). Text that a spreadsheet would run as a formula gets an apostrophe in front, and so does text that
 *  begins with one: what reads the file again takes it away. Numbers stay numbers. */
export function csv(rows: (string | number | null)[][]): string {
  const cell = (value: string | number | null) => {
    if (value === null) return ''
    if (typeof value === 'number') return String(value)
    const safe = /^[=+\-@＝＋－＠'\t\r]/.test(value) ? `'${value}` : value
    return /[",\n\r]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe
  }
  return rows.map((row) => `${row.map(cell).join(',')}\r\n`).join('')
}

const plain = (text: string) =>
  text
    .toLowerCase()
    .replace(/[^\p{L}\p{N}]+/gu, '-')
    .replace(/^-|-$/g, '')

/** The file of a screen: its name says whose it is, of what and of which day. */
export function spreadsheet(
  agency: string | undefined,
  what: string,
  day: string,
  rows: (string | number | null)[][],
): { name: string; text: string } {
  const name = [agency ?? 'agency', what, day].map(plain).join('-')
  // A spreadsheet takes it for something else without the mark at its beginning.
  return { name: `${name.slice(0, 120)}.csv`, text: `\ufeff${csv(rows)}` }
}

/** A share as a spreadsheet's number of per cent, to a hundredth; empty where it is not known. */
export const inPercent = (share: number | null | undefined) =>
  share === null || share === undefined ? null : Math.round(share * 10_000) / 100
