// Figures as a planner reads them: as many digits as they can bear, and "unknown" where nothing is known.
type Maybe = number | null | undefined
const UNKNOWN = 'unknown'

export const whole = (value: number) =>
  new Intl.NumberFormat('en', { maximumFractionDigits: 0 }).format(value)

/** Two digits behind the point below 10, one below 100, none above. */
export function figure(value: Maybe): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return UNKNOWN
  const size = Math.abs(value)
  const digits = size < 10 ? 2 : size < 100 ? 1 : 0
  if (size > 0 && size < 0.005) return value > 0 ? 'under 0.01' : 'over −0.01'
  // A zero below zero is a zero.
  return new Intl.NumberFormat('en', { maximumFractionDigits: digits }).format(value + 0)
}

/** Days for the shop: one digit behind the point below 10. */
export function days(value: Maybe): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return UNKNOWN
  const text = new Intl.NumberFormat('en', { maximumFractionDigits: Math.abs(value) < 10 ? 1 : 0 }).format(
    value,
  )
  return `${text} ${text === '1' ? 'day' : 'days'}`
}

/** A share in percent. What is not certain never reads as 100 %, and what can happen never as 0 %. */
export function percent(share: Maybe): string {
  if (share === null || share === undefined || !Number.isFinite(share)) return UNKNOWN
  if (share < 1 && share >= 0.9995) return 'over 99.9 %'
  if (share > 0 && share < 0.0005) return 'under 0.1 %'
  return `${(share * 100).toFixed(1).replace(/\.0$/, '')} %`
}

/** Both bounds in words; an open end is said. */
export function between(low: Maybe, high: Maybe, say: (value: Maybe) => string = figure): string {
  const none = (v: Maybe) => v === null || v === undefined
  if (none(low) && none(high)) return 'no bounds'
  if (none(high)) return `at least ${say(low)}`
  if (none(low)) return `at most ${say(high)}`
  return `${say(low)} to ${say(high)}`
}

export const many = (n: number, one: string, more = `${one}s`) => `${whole(n)} ${n === 1 ? one : more}`

/** What the server names in lower case, at the head of a line. */
export const capital = (name: string) => name.charAt(0).toUpperCase() + name.slice(1)
