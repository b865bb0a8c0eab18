// Where everything of a join picture goes, in pixels. Pure: a model and a width in, numbers out.
import type { Part, PictureModel } from './parts'

export interface Row {
  part: Part
  /** Middle of the row, in rows from the top. */
  row: number
}
export interface PlacedLead {
  line: Part[]
  row: number
  ends: Row[]
}
export interface PlacedGroup {
  source: Part | null
  row: number
  leads: PlacedLead[]
}

/** Gives every end its own row, so that lines never cross. A line whose parts stand above each other may need more. */
export function rowsOf(model: PictureModel, partsInARow = Infinity): { groups: PlacedGroup[]; rows: number } {
  let next = 0
  const groups = model.groups.map((group) => {
    const first = next
    const leads = group.leads.map((lead) => {
      const top = next
      const tall = Math.max(1, lead.ends.length, Math.ceil(lead.line.length / partsInARow))
      const pad = (tall - lead.ends.length) / 2
      const ends = lead.ends.map((part, i) => ({ part, row: top + pad + i + 0.5 }))
      next += tall
      return { line: lead.line, row: (top + next) / 2, ends }
    })
    if (next === first) next++
    return { source: group.source, row: (first + next) / 2, leads }
  })
  return { groups, rows: next }
}

/** Breaks words into at most `most` lines of about `chars` letters; what is cut off ends in an ellipsis. */
export function wrap(text: string, chars: number, most: number): string[] {
  const lines: string[] = []
  let line = ''
  for (const word of text.split(/\s+/).filter(Boolean)) {
    const longer = line ? `${line} ${word}` : word
    if (longer.length <= chars || !line) line = longer
    else {
      lines.push(line)
      line = word
    }
  }
  if (line) lines.push(line)
  const cut = lines.length > most
  const kept = lines
    .slice(0, most)
    .map((l) => (l.length > chars ? `${l.slice(0, Math.max(1, chars - 1))}…` : l))
  const last = kept.length - 1
  const end = kept[last]
  if (cut && end !== undefined && !end.endsWith('…')) {
    kept[last] = end.length >= chars ? `${end.slice(0, Math.max(1, chars - 1))}…` : `${end}…`
  }
  return kept
}

export interface Box {
  part: Part
  x: number
  y: number
  w: number
  h: number
  title: string[]
  sub: string
  why: string[]
}
export interface Stroke {
  d: string
  kind: 'line' | 'pack' | 'branch'
  open: boolean
}
export interface Joint {
  x: number
  y: number
  kind: 'joined' | 'open' | 'capped'
}
export interface Label {
  part: Part
  x: number
  y: number
  w: number
  /** The same for a box around what is touched. */
  h: number
  text: string
  note: string[]
  noteX: number
}
export interface Layout {
  width: number
  height: number
  narrow: boolean
  boxes: Box[]
  strokes: Stroke[]
  joints: Joint[]
  labels: Label[]
}

/** So wide is the tag of a hose; where they find no room side by side they stand above each other. */
const LABEL_WIDTH = 84
const STACK_STEP = 26

const clamp = (low: number, value: number, high: number) => Math.max(low, Math.min(high, value))

export function layout(model: PictureModel, width: number): Layout {
  const narrow = width < 560
  const rowHeight = narrow ? 82 : 76
  const boxHeight = narrow ? 72 : 64
  const leftWidth = clamp(112, width * 0.26, 230)
  const rightWidth = clamp(132, width * 0.36, 330)
  const letter = narrow ? 7.4 : 7.8
  const glyphRoom = narrow ? 30 : 46
  const x1 = leftWidth
  const x3 = width - rightWidth
  const branch = narrow ? 14 : 34
  const x2 = x3 - branch
  const bend = x1 + (x3 - x1) * 0.3
  const most = Math.max(1, ...model.groups.flatMap((group) => group.leads.map((lead) => lead.line.length)))
  const stacked = most > 1 && (x2 - bend) / most < LABEL_WIDTH
  const placed = rowsOf(model, stacked ? Math.floor(rowHeight / STACK_STEP) : Infinity)
  const y = (row: number) => row * rowHeight
  const out: Layout = {
    width,
    height: Math.max(1, placed.rows) * rowHeight,
    narrow,
    boxes: [],
    strokes: [],
    joints: [],
    labels: [],
  }

  const box = (part: Part, x: number, row: number, w: number) => {
    const chars = Math.floor((w - glyphRoom - 8) / letter)
    const small = Math.floor((w - glyphRoom - 8) / (narrow ? letter : letter * 0.9))
    const most = (narrow ? 3 : 2) - (part.sub ? 1 : 0)
    const why = part.open && part.why ? wrap(part.why, small, most) : []
    const title = wrap(part.title, chars, why.length ? 1 : 2)
    out.boxes.push({ part, x, y: y(row) - boxHeight / 2, w, h: boxHeight, title, sub: part.sub ?? '', why })
  }

  for (const group of placed.groups) {
    if (group.source) box(group.source, 0, group.row, leftWidth)
    const count = Math.max(1, group.leads.length)
    group.leads.forEach((lead, index) => {
      const port = y(group.row) + (index - (count - 1) / 2) * Math.min(16, (boxHeight - 16) / count)
      const yl = y(lead.row)
      const gap = lead.line.find((part) => part.open)
      const dead = group.source?.open === true || gap !== undefined
      const toEnd = lead.ends.length > 0
      const gapOnly = !group.source && !lead.line.length
      if (!gapOnly) {
        const mid = (x1 + bend) / 2
        const reach = `M${x1} ${port}C${mid} ${port} ${mid} ${yl} ${bend} ${yl}`
        if (group.source?.open && lead.line.length && !gap) {
          // A sound line whose source is missing: its near end lies open.
          out.strokes.push({ d: reach, kind: 'line', open: true })
          out.strokes.push({ d: `M${bend + 10} ${yl}L${x2} ${yl}`, kind: 'line', open: false })
          out.joints.push({ x: bend + 12, y: yl, kind: 'open' }, { x: x2, y: yl, kind: 'capped' })
        } else {
          out.strokes.push({
            d: `${reach}L${x2} ${yl}`,
            kind: lead.line.length || dead ? 'line' : 'pack',
            open: dead,
          })
          if (group.source && !group.source.open) out.joints.push({ x: x1 + 5, y: port, kind: 'joined' })
          out.joints.push({ x: x2, y: yl, kind: dead ? 'open' : toEnd ? 'joined' : 'capped' })
        }
      }
      lead.line.forEach((part, at) => {
        const missing = part.open === true
        const chars = Math.floor((rightWidth - 8) / (letter * 0.9))
        const said = missing
          ? (part.why ?? 'missing')
          : group.source?.open
            ? 'nothing feeds it'
            : 'capped, no tool on it'
        // On a phone the straight part is too short for a label; there it may reach over the bend.
        const from = narrow ? x1 : bend
        const parts = lead.line.length
        const room = (x2 - from - 8) / (stacked ? 1 : parts)
        const [text] = wrap(
          missing ? (narrow ? 'open' : `${part.title}: open`) : (part.sub ?? part.title),
          Math.floor(room / (letter * 0.9)),
          1,
        )
        const side = stacked ? (from + x2) / 2 : from + 4 + room * (at + 0.5)
        const down = stacked ? (at - (parts - 1) / 2) * STACK_STEP : 0
        if (!stacked && at > 0) out.joints.push({ x: from + 4 + room * at, y: yl, kind: 'joined' })
        out.labels.push({
          part,
          x: side,
          y: yl + down,
          w: room,
          h: stacked && parts > 1 ? STACK_STEP : 50,
          text: text ?? '',
          note: toEnd || at > 0 ? [] : wrap(said, chars, 3),
          noteX: x3,
        })
      })
      for (const end of lead.ends) {
        const ye = y(end.row)
        const half = (x2 + x3) / 2
        if (gapOnly) {
          const from = x1 + (x3 - x1) * 0.45
          out.strokes.push({ d: `M${from} ${ye}L${x3} ${ye}`, kind: 'branch', open: true })
          out.joints.push({ x: from, y: ye, kind: 'open' })
        } else {
          out.strokes.push({
            d: `M${x2} ${yl}C${half} ${yl} ${half} ${ye} ${x3} ${ye}`,
            kind: 'branch',
            open: end.part.open === true,
          })
        }
        box(end.part, x3, end.row, rightWidth)
      }
    })
  }
  return out
}

export interface Small {
  width: number
  height: number
  sources: { x: number; y: number; h: number; open: boolean }[]
  strokes: { d: string; open: boolean; thin: boolean }[]
  ends: { x: number; y: number; open: boolean }[]
}

/** The same picture at the size of a stamp: shapes only, words stand beside it. */
export function layoutSmall(model: PictureModel, width = 132, most = 56): Small {
  const placed = rowsOf(model)
  const step = placed.rows ? Math.min(13, most / placed.rows) : most
  const height = Math.max(step, placed.rows * step)
  const out: Small = { width, height, sources: [], strokes: [], ends: [] }
  const x1 = 13
  const x3 = width - 13
  const x2 = x3 - 20
  const bend = x1 + 30
  for (const group of placed.groups) {
    const gy = group.row * step
    const rows = Math.max(
      1,
      group.leads.reduce((n, l) => n + Math.max(1, l.ends.length), 0),
    )
    const sourceOpen = group.source?.open === true
    if (group.source) out.sources.push({ x: 1, y: gy, h: Math.max(6, rows * step - 4), open: sourceOpen })
    for (const lead of group.leads) {
      const ly = lead.row * step
      const gap = lead.line.some((part) => part.open)
      const open = sourceOpen || gap
      if (group.source) {
        const m = (x1 + bend) / 2
        const reach = `M${x1} ${gy}C${m} ${gy} ${m} ${ly} ${bend} ${ly}`
        if (sourceOpen && lead.line.length && !gap) {
          out.strokes.push({ d: reach, open: true, thin: true })
          out.strokes.push({ d: `M${bend + 5} ${ly}L${x2} ${ly}`, open: false, thin: false })
        } else {
          const until = open && !lead.ends.length ? (bend + x2) / 2 : x2
          out.strokes.push({ d: `${reach}L${until} ${ly}`, open, thin: !lead.line.length })
        }
      }
      for (const end of lead.ends) {
        const ey = end.row * step
        const h = (x2 + x3) / 2
        const endOpen = end.part.open === true
        const d =
          endOpen && !group.source
            ? `M${x2 - 12} ${ey}L${x3} ${ey}`
            : `M${x2} ${ly}C${h} ${ly} ${h} ${ey} ${x3} ${ey}`
        out.strokes.push({ d, open: endOpen || open, thin: true })
        out.ends.push({ x: x3, y: ey, open: endOpen })
      }
    }
  }
  return out
}
