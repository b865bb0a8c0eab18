// The same picture at the size of a stamp: shapes only, in the same seats; words stand beside it.
import { rowsOf } from './layout'
import type { PictureModel, SeatState } from './parts'

/** How a seat looks: it works, it is there and must not be used or does nothing, or it is open. */
export type Look = 'full' | 'barred' | 'open'
export interface Small {
  width: number
  height: number
  seats: { x: number; y: number; w: number; h: number; round: boolean; look: Look }[]
  joins: { d: string; thin: boolean }[]
  struck: boolean
}

const LOOKS: Record<SeatState, Look> = {
  counted: 'full',
  limit: 'full',
  idle: 'barred',
  out: 'barred',
  away: 'open',
  empty: 'open',
}
const [SIDE, LINE, EDGE] = [14, 34, 1]

export function layoutSmall(model: PictureModel, width = 132, most = 56): Small {
  const { cells, rows } = rowsOf(model)
  const step = rows ? Math.min(14, most / rows) : most
  const middle = (width - LINE) / 2
  const columns = { source: [EDGE, SIDE], pack: [EDGE, SIDE], line: [middle, LINE], gear: [0, 0] } as const
  const seats = cells.map(({ seat, row }) => {
    const [x, w] = seat.zone === 'tool' ? [width - SIDE - EDGE, SIDE] : columns[seat.zone]
    const tall = Math.max(2.5, Math.min(seat.zone === 'line' ? 4 : 9, step - 2.5))
    return {
      key: seat.key,
      x,
      y: row * step - tall / 2,
      w,
      h: tall,
      round: seat.zone === 'tool',
      look: LOOKS[seat.state],
    }
  })
  const at = new Map(seats.map((seat) => [seat.key, seat]))
  const joins = model.joins.flatMap(({ from, to, by }) => {
    const [a, b] = [at.get(from), at.get(to)]
    if (!a || !b) return []
    const [x1, y1, x2, y2] = [a.x + a.w, a.y + a.h / 2, b.x, b.y + b.h / 2]
    const half = x2 > x1 ? (x1 + x2) / 2 : x1 + 8
    const back = x2 > x1 ? half : x2 - 8
    return [{ d: `M${x1} ${y1}C${half} ${y1} ${back} ${y2} ${x2} ${y2}`, thin: by === 'pack' }]
  })
  return { width, height: Math.max(step, rows * step), seats, joins, struck: Boolean(model.struck) }
}
