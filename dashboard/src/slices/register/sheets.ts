// Label sheets and where each label lies on them. Lengths are millimetres; sizes in inches are exact multiples of 25.4.
export interface Paper {
  key: 'a4' | 'letter'
  name: string
  width: number
  height: number
}
export interface SheetKind {
  key: string
  /** The size as the shop says it, in the agency's units. */
  name: string
  /** True for ready-cut sheets, false for plain paper with cutting lines. */
  cut: boolean
  units: 'us' | 'si'
  paper: Paper['key']
  width: number
  height: number
  columns: number
  rows: number
  left: number
  top: number
  /** From the edge of one label to the same edge of the next. */
  stepX: number
  stepY: number
}
export interface Spot {
  page: number
  x: number
  y: number
}

const IN = 25.4
export const PAPERS: Record<Paper['key'], Paper> = {
  a4: { key: 'a4', name: 'A4', width: 210, height: 297 },
  letter: { key: 'letter', name: 'US Letter', width: 8.5 * IN, height: 11 * IN },
}

/** Labels in the middle of a plain page, with a gap to cut in. */
function plain(key: string, name: string, units: 'us' | 'si', width: number, height: number): SheetKind {
  const paper = units === 'us' ? 'letter' : 'a4'
  const page = PAPERS[paper]
  const edge = 8
  const gap = 3
  const fit = (room: number, size: number) => Math.floor((room - 2 * edge + gap) / (size + gap))
  const columns = fit(page.width, width)
  const rows = fit(page.height, height)
  const left = (page.width - columns * width - (columns - 1) * gap) / 2
  const top = (page.height - rows * height - (rows - 1) * gap) / 2
  const steps = { stepX: width + gap, stepY: height + gap }
  return { key, name, cut: false, units, paper, width, height, columns, rows, left, top, ...steps }
}

/** A ready-cut sheet: columns and rows without margins of their own between them unless the step is longer. */
function cut(
  key: string,
  name: string,
  units: 'us' | 'si',
  size: [number, number],
  count: [number, number],
  step: [number, number],
): SheetKind {
  const paper = units === 'us' ? 'letter' : 'a4'
  const page = PAPERS[paper]
  const [width, height] = size
  const [columns, rows] = count
  const [stepX, stepY] = step
  const left = (page.width - (columns - 1) * stepX - width) / 2
  const top = (page.height - (rows - 1) * stepY - height) / 2
  return { key, name, cut: true, units, paper, width, height, columns, rows, left, top, stepX, stepY }
}

// Ready-cut sheets differ a little from maker to maker, so the screen offers a shift and asks for a trial on plain paper.
export const SHEETS: SheetKind[] = [
  plain('mm-25', '25 × 25 mm', 'si', 25, 25),
  plain('mm-50', '50 × 25 mm', 'si', 50, 25),
  plain('mm-60', '60 × 40 mm', 'si', 60, 40),
  cut('mm-70', '70 × 37 mm, 24 on a sheet', 'si', [70, 37], [3, 8], [70, 37]),
  cut('mm-99', '99.1 × 38.1 mm, 14 on a sheet', 'si', [99.1, 38.1], [2, 7], [101.6, 38.1]),
  plain('in-1', '1 × 1 in', 'us', IN, IN),
  plain('in-2', '2 × 1 in', 'us', 2 * IN, IN),
  plain('in-25', '2½ × 1½ in', 'us', 2.5 * IN, 1.5 * IN),
  cut('in-30', '2⅝ × 1 in, 30 on a sheet', 'us', [2.625 * IN, IN], [3, 10], [2.75 * IN, IN]),
  cut('in-10', '4 × 2 in, 10 on a sheet', 'us', [4 * IN, 2 * IN], [2, 5], [4.1875 * IN, 2 * IN]),
]

/** The sheets of an agency that speaks these units, and the paper that it buys. */
export const sheetsFor = (units: 'us' | 'si') => SHEETS.filter((s) => s.units === units)

/** The place of each label, counted from `first` (1 is the top left one) so that a begun sheet can be used up. */
export function spots(sheet: SheetKind, count: number, first = 1, shiftX = 0, shiftY = 0): Spot[] {
  const each = sheet.columns * sheet.rows
  const start = Math.min(Math.max(1, Math.trunc(first) || 1), each) - 1
  return Array.from({ length: count }, (_, i) => {
    const at = start + i
    const on = at % each
    return {
      page: Math.floor(at / each),
      x: sheet.left + (on % sheet.columns) * sheet.stepX + shiftX,
      y: sheet.top + Math.floor(on / sheet.columns) * sheet.stepY + shiftY,
    }
  })
}

/** White squares round the code on each side: ISO/IEC 18004 asks for four. */
export const QUIET = 4
/** Smaller squares than this are hard for a phone's camera at arm's length: our own rule of thumb. */
export const SMALL_MODULE = 0.3
/** White rim of a label, so that a crooked cut takes nothing away. */
export const EDGE = 1
const TAG_LINE = 4.6

export interface LabelLayout {
  /** The tag stands beside the code, or below it where the label is about as high as it is wide. */
  beside: boolean
  /** Side of the code with its quiet zone. */
  side: number
  /** One square of the code. */
  module: number
  /** Room for the words. */
  textWidth: number
  textHeight: number
}

/** How code and words share a label. `modules` is the code's own width in squares, without the quiet zone. */
export function layout(sheet: Pick<SheetKind, 'width' | 'height'>, modules: number): LabelLayout {
  const beside = sheet.width >= sheet.height * 1.4
  const innerWidth = sheet.width - 2 * EDGE
  const innerHeight = sheet.height - 2 * EDGE
  const side = beside
    ? Math.min(innerHeight, innerWidth * 0.55)
    : Math.min(innerWidth, innerHeight - TAG_LINE)
  return {
    beside,
    side,
    module: side / (modules + 2 * QUIET),
    textWidth: beside ? innerWidth - side : innerWidth,
    textHeight: beside ? innerHeight : innerHeight - side,
  }
}

/** Height of the tag's letters so that it fits on one line: the letters of a fixed-width face are 0.6 as wide as high. */
export function tagSize(tag: string, room: LabelLayout): number {
  const widest = room.textWidth / (Math.max(3, tag.length) * 0.62)
  return Math.min(widest, room.beside ? room.textHeight * 0.42 : room.textHeight * 0.8, 12)
}

/** Words broken into at most two lines of a proportional face, whose letters are about 0.52 as wide as high. */
export function lines(text: string, width: number, size: number): string[] {
  const fits = Math.max(1, Math.floor(width / (size * 0.52)))
  const out: string[] = ['']
  for (const word of text.split(/\s+/)) {
    const last = out.at(-1) ?? ''
    if (!last || last.length + 1 + word.length <= fits) out[out.length - 1] = last ? `${last} ${word}` : word
    else out.push(word)
  }
  const shown = out.slice(0, 2).map((line) => (line.length > fits ? `${line.slice(0, fits - 1)}…` : line))
  if (out.length > 2 && shown[1]) shown[1] = `${shown[1].slice(0, fits - 1)}…`
  return shown
}
