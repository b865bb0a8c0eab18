// The headings of a file that the server could not read, so that a person can say what its columns hold.
export function headings(bytes: ArrayBuffer): string[] {
  const start = new Uint8Array(bytes.slice(0, 8192))
  // A packed workbook: its headings are the server's to say.
  if (start[0] === 0x50 && start[1] === 0x4b) return []
  const wide = start[0] === 0xff || start[1] === 0
  const text = new TextDecoder(wide ? 'utf-16le' : 'utf-8').decode(start)
  const line = text.split(/\r\n|\n|\r/).find((l) => l.trim() !== '') ?? ''
  const signs = [',', ';', '\t', '|'].toSorted((a, b) => line.split(b).length - line.split(a).length)
  return cells(line, signs[0] ?? ',')
}

function cells(line: string, sign: string): string[] {
  const out: string[] = []
  let cell = ''
  let quoted = false
  for (const c of line) {
    if (c === '"') quoted = !quoted
    else if (c === sign && !quoted) {
      out.push(cell.trim())
      cell = ''
    } else cell += c
  }
  return [...out, cell.trim()].filter(Boolean)
}
