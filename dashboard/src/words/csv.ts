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
