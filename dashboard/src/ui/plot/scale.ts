// Axes: where a value lies, and which round values are written beside it.
export interface Scale {
  /** Place of a value along the axis. */
  at(value: number): number
  ticks: number[]
}

/** About `count` round steps from 0 or `low` to at least `high`. */
export function linear(low: number, high: number, from: number, to: number, count = 5): Scale {
  const span = high > low ? high - low : 1
  const rough = span / Math.max(1, count)
  const power = 10 ** Math.floor(Math.log10(rough))
  const step = [1, 2, 2.5, 5, 10].map((n) => n * power).find((n) => n >= rough * 0.9) ?? power * 10
  const first = Math.ceil(low / step - 1e-9)
  const ticks: number[] = []
  for (let n = first; n * step <= low + span * 1.0001; n += 1) ticks.push(Number((n * step).toPrecision(12)))
  return { at: (value) => from + ((value - low) / span) * (to - from), ticks }
}

/** Powers of ten with 2 and 5 between them where there is room. Values at or below 0 lie on the edge. */
export function log(low: number, high: number, from: number, to: number): Scale {
  const bottom = Math.log10(low)
  const span = Math.log10(high) - bottom || 1
  const ticks: number[] = []
  const between = span > 3 ? [1] : [1, 2, 5]
  for (let power = Math.floor(bottom); power <= Math.ceil(bottom + span); power += 1)
    for (const n of between) {
      const value = Number((n * 10 ** power).toPrecision(12))
      if (value >= low * 0.999 && value <= high * 1.001) ticks.push(value)
    }
  const at = (value: number) => from + ((Math.log10(Math.max(value, low)) - bottom) / span) * (to - from)
  return { at, ticks }
}
