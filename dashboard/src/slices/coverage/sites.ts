// The curve of reserve sets: what each number of them reaches at best, and how sure that is.
import type { BestPlaces, ReserveSites } from '@/api/types'
import { shareWords } from '@/words/share'

export const sureWords = ({ proved, bound, value }: BestPlaces, total: number) =>
  proved
    ? 'Exact: no stations reach more.'
    : `Best found; at most ${shareWords(total > 0 ? (bound - value) / total : 0)} more is possible.`

const WIDTH = 520
const HEIGHT = 280
const LEFT = 62
const RIGHT = 24
const TOP = 34
const BOTTOM = 34

/** Where the points and lines lie. The axis starts below the first point, not at nothing, and its ticks say so. */
export function curveOf(places: ReserveSites['places']) {
  const share = (value: number) => (places.total > 0 ? value / places.total : 0)
  const all = [
    { sets: 0, share: share(places.already) },
    ...places.best.map((b) => ({ sets: b.sets, share: b.share })),
  ]
  const top = Math.max(share(places.coverable), ...all.map((p) => p.share))
  const lowest = Math.min(...all.map((p) => p.share))
  const step = stepFor(top - lowest)
  const low = Math.max(0, Math.floor(lowest / step - 0.25) * step)
  const high = Math.max(top, low + step)
  const y = (value: number) => HEIGHT - BOTTOM - ((value - low) / (high - low)) * (HEIGHT - TOP - BOTTOM)
  const last = Math.max(1, all.length - 1)
  const ticks: { y: number; words: string }[] = []
  for (let value = low; value <= high + step / 1000; value += step)
    ticks.push({ y: y(value), words: shareWords(Math.round(value * 1e6) / 1e6) })
  return {
    width: WIDTH,
    height: HEIGHT,
    left: LEFT,
    most: y(share(places.coverable)),
    ticks,
    points: all.map((p, i) => ({
      ...p,
      x: LEFT + 16 + (i / last) * (WIDTH - LEFT - RIGHT - 16),
      y: y(p.share),
    })),
  }
}

/** A round step that gives three to eight ticks. */
function stepFor(span: number): number {
  const steps = [0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2]
  return steps.find((step) => span / step <= 6) ?? 0.2
}
