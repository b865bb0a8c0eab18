// Markdown of paragraphs, lists, **strong** and *stressed* words, read into plain values. Nothing else is read: HTML, links and headings
// stay the signs that they are, so that no text of a member becomes anything but words.
export interface Run {
  text: string
  as?: 'strong' | 'em'
}
export type Block =
  { as: 'p'; lines: Run[][] } | { as: 'ul'; lines: Run[][] } | { as: 'ol'; from: number; lines: Run[][] }

const BULLET = /^\s{0,3}[-*+]\s+(.*)$/
const NUMBER = /^\s{0,3}(\d{1,3})[.)]\s+(.*)$/
const STRESS = /\*\*([^*]+)\*\*|\*([^\s*][^*]*)\*/g

function runs(line: string): Run[] {
  const all: Run[] = []
  let at = 0
  for (const found of line.matchAll(STRESS)) {
    if (found.index > at) all.push({ text: line.slice(at, found.index) })
    const [whole, strong, em] = found
    all.push(strong === undefined ? { text: em ?? '', as: 'em' } : { text: strong, as: 'strong' })
    at = found.index + whole.length
  }
  if (at < line.length) all.push({ text: line.slice(at) })
  return all
}

function read(line: string): { as: Block['as']; from: number; text: string } {
  const bullet = BULLET.exec(line)
  if (bullet) return { as: 'ul', from: 0, text: bullet[1] ?? '' }
  const number = NUMBER.exec(line)
  if (number) return { as: 'ol', from: Number(number[1]), text: number[2] ?? '' }
  return { as: 'p', from: 0, text: line.trim() }
}

/** The blocks of a text: a line that is empty, or of another sort than the one before, begins a new one. */
export function marked(text: string): Block[] {
  const blocks: Block[] = []
  let open: Block | undefined
  for (const line of text.split(/\r?\n/)) {
    if (!line.trim()) {
      open = undefined
      continue
    }
    const { as, from, text: words } = read(line)
    const told = runs(words)
    if (open?.as === as) open.lines.push(told)
    else blocks.push((open = as === 'ol' ? { as, from, lines: [told] } : { as, lines: [told] }))
  }
  return blocks
}
