// The export of what is shown: the lines of the service's own export, untouched, so that they read back as the whole file does.

/** The records of a file, each with its line end; a quoted cell may hold one. */
function records(text: string): string[] {
  const found: string[] = []
  let from = 0
  let quoted = false
  for (let at = 0; at < text.length; at++) {
    if (text[at] === '"') quoted = !quoted
    else if (text[at] === '\n' && !quoted) {
      found.push(text.slice(from, at + 1))
      from = at + 1
    }
  }
  return from < text.length ? [...found, text.slice(from)] : found
}

/** The first cell without its quotes. */
function firstCell(record: string): string {
  const [, quoted] = /^"((?:[^"]|"")*)"/.exec(record) ?? []
  return quoted === undefined ? (/^[^,\r\n]*/.exec(record)?.[0] ?? '') : quoted.replaceAll('""', '"')
}

/** The file with the lines of these tags alone, in their order. An apostrophe stands before a tag that a reader would take for something else. */
export function only(file: string, tags: string[]): string {
  const [head = '', ...lines] = records(file)
  const byTag = new Map(lines.map((line) => [firstCell(line), line]))
  return head + tags.flatMap((tag) => byTag.get(tag) ?? byTag.get(`'${tag}`) ?? []).join('')
}
