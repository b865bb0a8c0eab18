// Where everything of a join picture goes, in pixels. Pure: a model and a width in, numbers out. A seat's place follows from the
// seats of the list alone, never from what sits in them or joins them.
import type { Join, PictureModel, Seat, Zone } from './parts'

export interface Cell {
  seat: Seat
  /** Middle of the row, in rows from the top. */
  row: number
}

const spread = (seats: Seat[], rows: number, from = 0): Cell[] =>
  seats.map((seat, i) => ({ seat, row: from + ((i + 0.5) * rows) / seats.length }))

/**
 * The rows of the three columns. Packs have the lowest rows on the left, where nothing stands between them and the tools; what is
 * beyond the list comes below it.
 */
export function rowsOf(model: PictureModel): { cells: Cell[]; rows: number } {
  const of = (zone: Zone, extra: boolean) =>
    model.seats.filter((seat) => seat.zone === zone && Boolean(seat.extra) === extra)
  const [sources, packs, lines, tools] = [
    of('source', false),
    of('pack', false),
    of('line', false),
    of('tool', false),
  ]
  const upper = Math.max(sources.length, lines.length, tools.length - packs.length)
  const listed = upper + packs.length
  const cells = [
    ...spread(sources, upper),
    ...spread(packs, packs.length, upper),
    ...spread(lines, upper),
    ...spread(tools, listed),
  ]
  let rows = listed
  for (const column of [[...of('source', true), ...of('pack', true)], of('line', true), of('tool', true)]) {
    cells.push(...spread(column, column.length, listed))
    rows = Math.max(rows, listed + column.length)
  }
  return { cells, rows }
}

export interface Box {
  seat: Seat
  x: number
  y: number
  w: number
  h: number
}
export interface Stroke {
  d: string
  /** Where it ends: there sits the joint. */
  x: number
  y: number
  by: 'line' | 'pack'
}
/** An end that joins nothing: a hose with its cap, or a tool that waits for its line. */
export interface End {
  x: number
  y: number
  /** The edge of the seat that it comes out of. */
  from: number
  kind: 'capped' | 'open'
}
export interface Layout {
  width: number
  height: number
  shape: 'wide' | 'narrow' | 'single'
  boxes: Box[]
  strokes: Stroke[]
  ends: End[]
  /** Above the small gear, where there is any. */
  rule: number | null
}

const clamp = (low: number, value: number, high: number) => Math.max(low, Math.min(high, value))
const SMALLEST = 290
const ORDER: Zone[] = ['source', 'line', 'pack', 'tool', 'gear']

/** `scale`: how much larger than usual the reader has set the text. */
export function layout(model: PictureModel, width: number, scale = 1): Layout {
  const room = width / scale
  if (room < SMALLEST) return single(model, width, scale)
  const narrow = room < 560
  const rowHeight = (narrow ? 120 : 96) * scale
  const high = (narrow ? 110 : 82) * scale
  const gap = (narrow ? 15 : 34) * scale
  const left = narrow ? width * 0.31 : clamp(150 * scale, width * 0.25, 250 * scale)
  const right = narrow ? width * 0.35 : clamp(180 * scale, width * 0.32, 330 * scale)
  const between = width - left - right
  const middle = narrow ? between - 2 * gap : clamp(100 * scale, between - 2 * gap, 170 * scale)
  const { cells, rows } = rowsOf(model)
  const columns: Record<Zone, [number, number]> = {
    source: [0, left],
    pack: [0, left],
    line: [left + (between - middle) / 2, middle],
    tool: [width - right, right],
    gear: [0, 0],
  }
  const boxes: Box[] = cells.map(({ seat, row }) => {
    const [x, w] = columns[seat.zone]
    return { seat, x, y: row * rowHeight - high / 2, w, h: high }
  })
  const field = rows * rowHeight
  const gear = gearOf(model, width, field + (rows ? 12 * scale : 0), narrow, scale)
  return {
    width,
    height: gear.length ? Math.max(...gear.map((box) => box.y + box.h)) : field,
    shape: narrow ? 'narrow' : 'wide',
    boxes: [...boxes, ...gear],
    strokes: strokesOf(boxes, model.joins, gap),
    ends: endsOf(boxes, model.joins, (narrow ? 5 : 16) * scale),
    rule: gear.length && rows ? field + 4 * scale : null,
  }
}

/** In the order of the list, what is beyond it last. */
function gearOf(model: PictureModel, width: number, top: number, narrow: boolean, scale: number): Box[] {
  const seats = model.seats.filter((seat) => seat.zone === 'gear')
  const inRow = narrow ? 2 : Math.max(2, Math.floor(width / (210 * scale)))
  const [gap, high] = [8 * scale, (narrow ? 92 : 74) * scale]
  const w = (width - gap * (inRow - 1)) / inRow
  return [...seats.filter((seat) => !seat.extra), ...seats.filter((seat) => seat.extra)].map((seat, i) => ({
    seat,
    x: (i % inRow) * (w + gap),
    y: top + gap + Math.floor(i / inRow) * (high + gap),
    w,
    h: high,
  }))
}

/** Where text is so large that three columns find no room: one seat under the other, and what joins them is said by their names. */
function single(model: PictureModel, width: number, scale: number): Layout {
  const high = 96 * scale
  const step = high + 8 * scale
  const listed = (extra: boolean) =>
    ORDER.flatMap((zone) => model.seats.filter((s) => s.zone === zone && Boolean(s.extra) === extra))
  const boxes = [...listed(false), ...listed(true)].map((seat, i) => ({
    seat,
    x: 0,
    y: i * step,
    w: width,
    h: high,
  }))
  return { width, height: boxes.length * step, shape: 'single', boxes, strokes: [], ends: [], rule: null }
}

/** Where on a side the joins of one seat begin or end, so that they lie beside each other. */
function port(box: Box, joins: Join[], join: Join, other: (join: Join) => Box | undefined): number {
  const all = joins.toSorted((a, b) => (other(a)?.y ?? 0) - (other(b)?.y ?? 0))
  const step = Math.min(18, (box.h - 24) / Math.max(1, all.length))
  return box.y + box.h / 2 + (all.indexOf(join) - (all.length - 1) / 2) * step
}

function strokesOf(boxes: Box[], joins: Join[], gap: number): Stroke[] {
  const at = new Map(boxes.map((box) => [box.seat.key, box]))
  return joins.flatMap((join) => {
    const [from, to] = [at.get(join.from), at.get(join.to)]
    if (!from || !to) return []
    const y1 = port(
      from,
      joins.filter((one) => one.from === join.from),
      join,
      (one) => at.get(one.to),
    )
    const y2 = port(
      to,
      joins.filter((one) => one.to === join.to),
      join,
      (one) => at.get(one.from),
    )
    const [x1, x2] = [from.x + from.w, to.x]
    if (x2 <= x1) return [{ d: folded(x1, y1, x2, y2, gap), x: x2, y: y2, by: join.by }]
    // Past the middle column it runs level, and turns before the tools.
    const turn = Math.max(x1, x2 - 2.4 * gap)
    const half = (turn + x2) / 2
    const d = `M${x1} ${y1}L${turn} ${y1}C${half} ${y1} ${half} ${y2} ${x2} ${y2}`
    return [{ d, x: x2, y: y2, by: join.by }]
  })
}

/** From one part to another of the same column: out to the right, back, and in from the left, as a line lies on the ground. */
function folded(x1: number, y1: number, x2: number, y2: number, gap: number): string {
  const reach = gap * 0.8
  const middle = (y1 + y2) / 2
  return `M${x1} ${y1}C${x1 + reach} ${y1} ${x1 + reach} ${middle} ${x1 - reach} ${middle}L${x2 + reach} ${middle}C${x2 - reach} ${middle} ${x2 - reach} ${y2} ${x2} ${y2}`
}

function endsOf(boxes: Box[], joins: Join[], reach: number): End[] {
  const ends: End[] = []
  for (const { seat, x, y, w, h } of boxes) {
    const middle = y + h / 2
    const here = seat.state === 'counted' || seat.state === 'limit' || seat.state === 'idle'
    const [fed, leads] = [
      joins.some((one) => one.to === seat.key),
      joins.some((one) => one.from === seat.key),
    ]
    if (seat.zone === 'tool' && !fed && !seat.own)
      ends.push({ x: x - reach, from: x, y: middle, kind: 'open' })
    if (seat.zone !== 'line' || !here) continue
    if (!fed) ends.push({ x: x - reach, from: x, y: middle, kind: 'capped' })
    if (!leads) ends.push({ x: x + w + reach, from: x + w, y: middle, kind: 'capped' })
  }
  return ends
}

/** The seat that lies next in a direction; the same when there is none. */
export function nextSeat(boxes: Box[], from: string, key: string): string {
  const at = boxes.find((box) => box.seat.key === from) ?? boxes[0]
  const across = key === 'ArrowLeft' || key === 'ArrowRight'
  const sign = key === 'ArrowRight' || key === 'ArrowDown' ? 1 : -1
  if (!at) return from
  let best: { key: string; far: number } | undefined
  for (const box of boxes) {
    const [dx, dy] = [box.x + box.w / 2 - (at.x + at.w / 2), box.y + box.h / 2 - (at.y + at.h / 2)]
    const [along, aside] = across ? [dx * sign, Math.abs(dy)] : [dy * sign, Math.abs(dx)]
    if (along < 1) continue
    const far = along + 3 * aside
    if (!best || far < best.far) best = { key: box.seat.key, far }
  }
  return best?.key ?? from
}
