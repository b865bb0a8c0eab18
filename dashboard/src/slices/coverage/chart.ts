// Which mark is the nearest to a key or a finger.
export interface Spot {
  id: string
  x: number
  y: number
}
export type Way = 'left' | 'right' | 'up' | 'down'

const STEPS: Record<Way, (dx: number, dy: number) => [along: number, aside: number]> = {
  left: (dx, dy) => [-dx, dy],
  right: (dx, dy) => [dx, dy],
  up: (dx, dy) => [-dy, dx],
  down: (dx, dy) => [dy, dx],
}

/** The nearest spot that way: straight ahead before aside. None where the map ends. */
export function nextSpot<T extends Spot>(from: Spot, spots: T[], way: Way): T | undefined {
  let best: { spot: T; cost: number } | undefined
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
export function under<T extends Spot>(x: number, y: number, spots: T[], within: number): T[] {
  const far = (s: Spot) => Math.hypot(s.x - x, s.y - y)
  return spots.filter((s) => far(s) <= within).sort((a, b) => far(a) - far(b))
}
