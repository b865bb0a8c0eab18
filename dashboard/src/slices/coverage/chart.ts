// The map's arithmetic: equirectangular around the middle of what is shown, so that both axes have one scale.
export interface Point {
  lat: number
  lon: number
}
export interface Frame {
  middle: Point
  /** Pixels for a kilometre. */
  scale: number
  width: number
  height: number
}
export interface Spot {
  id: string
  x: number
  y: number
}
export type Way = 'left' | 'right' | 'up' | 'down'

/** Great circle of the mean earth radius: kilometres for a degree of latitude. */
const KM = 111.195
const squeeze = (lat: number) => Math.max(0.01, Math.cos((lat * Math.PI) / 180))
const SMALLEST_KM = 1

/** Fits the points with a margin; `zoom` brings `centre` nearer. */
export function frameOf(
  points: Point[],
  width: number,
  height: number,
  margin: number,
  zoom = 1,
  centre?: Point,
): Frame {
  const lats = points.map((p) => p.lat)
  const lons = points.map((p) => p.lon)
  const range = (values: number[]) =>
    values.reduce(([low, high], v) => [Math.min(low, v), Math.max(high, v)] as const, [
      Infinity,
      -Infinity,
    ] as readonly [number, number])
  const [south, north] = points.length ? range(lats) : [0, 0]
  const [west, east] = points.length ? range(lons) : [0, 0]
  const whole = { lat: (south + north) / 2, lon: (west + east) / 2 }
  const tall = Math.max(SMALLEST_KM, (north - south) * KM)
  const wide = Math.max(SMALLEST_KM, (east - west) * KM * squeeze(whole.lat))
  const fits = Math.min((width - 2 * margin) / wide, (height - 2 * margin) / tall)
  return {
    middle: zoom > 1 && centre ? centre : whole,
    scale: Math.max(fits, 1e-6) * zoom,
    width,
    height,
  }
}

export function placed({ middle, scale, width, height }: Frame, point: Point): { x: number; y: number } {
  return {
    x: width / 2 + (point.lon - middle.lon) * KM * squeeze(middle.lat) * scale,
    y: height / 2 - (point.lat - middle.lat) * KM * scale,
  }
}

/** How tall the picture has to be to hold the points at this width. */
export function heightFor(points: Point[], width: number, margin: number, most: number): number {
  const tall = frameOf(points, width, 1e9, margin)
  const ys = points.map((p) => placed(tall, p).y)
  const span = ys.length ? Math.max(...ys) - Math.min(...ys) : 0
  return Math.round(Math.min(most, Math.max(260, span + 2 * margin)))
}

const STEPS: Record<Way, (dx: number, dy: number) => [along: number, aside: number]> = {
  left: (dx, dy) => [-dx, dy],
  right: (dx, dy) => [dx, dy],
  up: (dx, dy) => [-dy, dx],
  down: (dx, dy) => [dy, dx],
}

/** The nearest spot that way: straight ahead before aside. None where the map ends. */
export function nextSpot(from: Spot, spots: Spot[], way: Way): Spot | undefined {
  let best: { spot: Spot; cost: number } | undefined
  for (const spot of spots) {
    if (spot.id === from.id) continue
    const [along, aside] = STEPS[way](spot.x - from.x, spot.y - from.y)
    if (along <= 0.5 || Math.abs(aside) > 3 * along) continue
    const cost = along + 2 * Math.abs(aside)
    if (!best || cost < best.cost) best = { spot, cost }
  }
  return best?.spot
}

/** What lies under a finger, nearest first. */
export function under(x: number, y: number, spots: Spot[], within: number): Spot[] {
  const far = (s: Spot) => Math.hypot(s.x - x, s.y - y)
  return spots.filter((s) => far(s) <= within).sort((a, b) => far(a) - far(b))
}

/** A round length at most so many pixels long, in the agency's unit. */
export function scaleBar(
  scale: number,
  units: 'us' | 'si',
  longest: number,
): { length: number; words: string } {
  const km = units === 'us' ? 1.609344 : 1
  const most = longest / (scale * km)
  const power = 10 ** Math.floor(Math.log10(most))
  const round = [5, 2, 1].find((step) => step * power <= most) ?? 1
  const value = round * power
  return {
    length: value * km * scale,
    words: `${Number(value.toPrecision(1))} ${units === 'us' ? 'mi' : 'km'}`,
  }
}
