// The copy of the sheet that stays on record: what stood on the screen, line by line, cut where it is longer than what is kept.
export interface Read {
  title: string
  lines: string[]
}
export interface Kept extends Read {
  /** How many lines more the sheet had. */
  left_out: number
}
const MOST = { parts: 24, lines: 60, line: 500, title: 200, text: 38_000 }

const plain = (text: string | null | undefined) => (text ?? '').replace(/\s+/g, ' ').trim()

/** A line with lines of its own, as one; as several that begin alike where it would be longer than a line may be. */
export function packed(head: string, under: readonly string[]): string[] {
  const [first, ...rest] = under
  if (!first) return [head]
  const lines = [`${head}: ${first}`]
  for (const one of rest) {
    const longer = `${lines.at(-1)}. ${one}`
    if (longer.length <= MOST.line) lines[lines.length - 1] = longer
    else lines.push(`${head}: ${one}`)
  }
  return lines
}

/** What a line says itself, without the lines under it. */
const own = (line: Element) =>
  plain(
    [...line.childNodes]
      .filter((node) => node.nodeName !== 'UL' && node.nodeName !== '#comment')
      .map((node) => node.textContent)
      .join(''),
  )
const UNDER = 'li li, li p, .no-print, .no-print *'

/** The parts of a page as they are read, with those lines that a screen shows only when asked. */
export function readSheet(root: ParentNode): Read[] {
  return [...root.querySelectorAll('.part')].map((part) => ({
    title: plain(part.querySelector('h3')?.textContent),
    lines: [...part.querySelectorAll('li, p')]
      .filter((line) => !line.matches(UNDER))
      .flatMap((line) => packed(own(line), [...line.querySelectorAll('li')].map(own).filter(Boolean)))
      .filter(Boolean),
  }))
}

const short = (text: string, most: number) => (text.length > most ? `${text.slice(0, most - 1)}…` : text)

/** What is kept of it: every heading, and lines as long as there is room. */
export function cut(parts: readonly Read[]): Kept[] {
  const shown = parts.filter((part) => part.title).slice(0, MOST.parts)
  let room = MOST.text - shown.reduce((sum, part) => sum + Math.min(part.title.length, MOST.title), 0)
  return shown.map(({ title, lines }) => {
    const kept: string[] = []
    for (const line of lines.slice(0, MOST.lines)) {
      const text = short(line, MOST.line)
      if (text.length > room) break
      room -= text.length
      kept.push(text)
    }
    return { title: short(title, MOST.title), lines: kept, left_out: lines.length - kept.length }
  })
}
export const leftOut = (parts: readonly Kept[]) => parts.reduce((sum, part) => sum + part.left_out, 0)
