// How the wall is laid out: as many columns as make the tiles the most readable, and every rig on one screen.
export interface Sheet {
  columns: number
  rows: number
  /** Of one tile, in pixels. */
  width: number
  height: number
  /** Size of a rig's name: what is read from four metres. */
  name: number
}
/** More than this on one screen is too small to read: the rest is on the next page. */
export const MOST_TILES = 72
const GAP = 6
/** A letter is about so wide, for its size, in the bold face of a name. */
const LETTER = 0.66

export function layWall(tiles: number, width: number, height: number, longest: number): Sheet {
  let best: Sheet | null = null
  for (let columns = 1; columns <= Math.max(1, tiles); columns += 1) {
    const rows = Math.max(1, Math.ceil(tiles / columns))
    const tile = {
      width: (width - GAP * (columns - 1)) / columns,
      height: (height - GAP * (rows - 1)) / rows,
    }
    const name = Math.min(tile.height * 0.32, (tile.width - 4 * GAP) / (Math.max(6, longest) * LETTER))
    if (!best || name > best.name) best = { columns, rows, ...tile, name }
  }
  return best ?? { columns: 1, rows: 1, width, height, name: height * 0.32 }
}

/** Whole tiles for each page. */
export function pagesOf<T>(all: readonly T[], most = MOST_TILES): T[][] {
  const count = Math.max(1, Math.ceil(all.length / most))
  const each = Math.ceil(all.length / count)
  return Array.from({ length: count }, (_, i) => all.slice(i * each, (i + 1) * each))
}
