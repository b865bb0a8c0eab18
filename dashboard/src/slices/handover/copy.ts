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

/** The parts of a page as they are read, with those lines that a screen shows only when asked. */
export function readSheet(root: ParentNode): Read[] {
  return [...root.querySelectorAll('.part')].map((part) => ({
    title: plain(part.querySelector('h3')?.textContent),
    lines: [...part.querySelectorAll('li, p')].map((line) => plain(line.textContent)).filter(Boolean),
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
