// A QR code as one SVG path. The code is made by a small library that is fetched when the first one is wanted.
export interface Code {
  /** Squares on a side, without the quiet zone. */
  modules: number
  /** Path in units of one square; its origin is the corner of the code itself. */
  path: string
}

/** Level Q: about a quarter of the code may be scratched or dirty. */
export async function encode(text: string): Promise<Code> {
  const { encode: squares } = await import('uqr')
  const { data, size } = squares(text, { ecc: 'Q', boostEcc: false, border: 0 })
  return { modules: size, path: pathOf(data) }
}

/** One stroke for each run of dark squares in a row: few numbers, no seams when printed. */
export function pathOf(rows: boolean[][]): string {
  let path = ''
  rows.forEach((row, y) => {
    let from = -1
    for (let x = 0; x <= row.length; x++) {
      if (row[x] && from < 0) from = x
      else if (!row[x] && from >= 0) {
        path += `M${from} ${y}h${x - from}v1h${from - x}z`
        from = -1
      }
    }
  })
  return path
}
