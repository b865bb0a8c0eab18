// A number as a person types it, read in one place for every field and pad. A comma or a point that can be meant in two ways is asked
// about, what cannot be read is said, and no character is ever dropped to make a number of the rest.

/** A number that can be meant in one way, or in two. */
export type Digits = { value: number } | { grouped: number; decimal: number }
export type Typed =
  | { is: 'empty' }
  | { is: 'read'; value: number }
  /** It can be meant in two ways; each as it would be written so that nobody can take it for the other. */
  | { is: 'open'; ways: [string, string] }
  | { is: 'unreadable'; words: string }
export interface Bounds {
  least?: number | undefined
  most?: number | undefined
  /** Whole numbers alone. */
  whole?: boolean | undefined
}

export const TWO_WAYS = 'That can be meant in two ways.'
export const BELOW_ZERO = 'It is below zero. Leave out the minus sign if it was a slip.'
export const NOT_PLAIN = 'That is not one plain number. Write digits, for example 10400 or 8.1.'

const plain = (text: string) => (/^\d*\.?\d*$/.test(text) && /\d/.test(text) ? Number(text) : null)
const groups = (parts: string[]) =>
  /^\d{1,3}$/.test(parts[0] ?? '') && parts.slice(1).every((part) => /^\d{3}$/.test(part))
const one = (value: number | null): Digits | null => (value === null ? null : { value })

/** Digits with points, commas or blanks between them; null for anything else. */
function digits(text: string): Digits | null {
  if (text.includes(' ')) {
    const [, whole = '', part = ''] = /^([^.,]*)(?:[.,](\d*))?$/.exec(text) ?? []
    return groups(whole.split(' ')) ? one(plain(`${whole.replaceAll(' ', '')}.${part}`)) : null
  }
  const at = Math.max(text.lastIndexOf('.'), text.lastIndexOf(','))
  if (at < 0) return one(plain(text))
  const [sign, whole, part] = [text.charAt(at), text.slice(0, at), text.slice(at + 1)]
  if (!/[.,]/.test(whole)) {
    const decimal = plain(`${whole}.${part}`)
    if (decimal === null) return null
    const open = /^[1-9]\d{0,2}$/.test(whole) && /^\d{3}$/.test(part)
    return open ? { grouped: Number(whole + part), decimal } : { value: decimal }
  }
  const other = sign === ',' ? '.' : ','
  if (!whole.includes(other) && groups(text.split(sign))) return one(plain(text.replaceAll(sign, '')))
  if (!whole.includes(sign) && part && groups(whole.split(other)))
    return one(plain(`${whole.replaceAll(other, '')}.${part}`))
  return null
}

/** A part of an inch: 1/2, 3/4, 15/16. */
function fraction(text: string): number | null {
  const [, top, bottom] = /^(\d{1,2})[/⁄](\d{1,2})$/.exec(text) ?? []
  const parts = [2, 4, 8, 16, 32, 64]
  return top && bottom && parts.includes(Number(bottom)) && Number(top) < Number(bottom)
    ? Number(top) / Number(bottom)
    : null
}

/** The number that digits, a fraction or both together are; null where they are none. */
export function numberIn(text: string): Digits | null {
  const alone = fraction(text)
  if (alone !== null) return { value: alone }
  const cut = Math.max(text.lastIndexOf(' '), text.lastIndexOf('-'))
  const [whole, part] = [digits(text.slice(0, Math.max(0, cut))), fraction(text.slice(cut + 1))]
  if (cut > 0 && part !== null && whole && 'value' in whole) return { value: whole.value + part }
  return digits(text)
}

/** One blank for every kind and number of them. */
export const blanks = (text: string) => text.replace(/[\s\u00a0\u202f\u2009]+/g, ' ').trim()

/** The number as it is written so that it can be read in one way alone. */
export function exactly(value: number): string {
  const text = String(value)
  return /\.\d{3}$/.test(text) ? `${text}0` : text
}
/** The number as a button or a list shows it: "9,500", "48.9"; never rounded. */
export const plainly = (value: number) =>
  new Intl.NumberFormat('en', { maximumFractionDigits: 12 }).format(value)

/** "from 1 to 12", "at least 0.5"; empty where there is no bound. */
function boundsWords({ least, most }: Bounds): string {
  if (least !== undefined && most !== undefined) return `from ${plainly(least)} to ${plainly(most)}`
  if (most !== undefined) return `of at most ${plainly(most)}`
  return least === undefined ? '' : `of at least ${plainly(least)}`
}

/** What was typed where a number alone belongs. Where one of two ways cannot stand in the field, the other one is meant. */
export function readTyped(text: string, bounds: Bounds = {}): Typed {
  const said = blanks(text)
  if (!said) return { is: 'empty' }
  const not = (words: string): Typed => ({ is: 'unreadable', words })
  const { least, most, whole = false } = bounds
  const minus = /^[-−–]/.test(said)
  if (minus && !(least !== undefined && least < 0)) return not(BELOW_ZERO)
  const found = numberIn(said.replace(/^[-−–+]\s*/, ''))
  if (!found) return not(NOT_PLAIN)
  const signed = (value: number) => (minus && value !== 0 ? -value : value)
  const stands = (value: number) =>
    (least === undefined || value >= least) &&
    (most === undefined || value <= most) &&
    (!whole || Number.isInteger(value))
  const ways = ('value' in found ? [found.value] : [found.grouped, found.decimal]).map(signed)
  const [first, second] = ways.filter(stands)
  if (first === undefined)
    return not(
      `Give a ${whole ? 'whole ' : ''}number ${boundsWords(bounds)}`.trim() +
        (whole && !boundsWords(bounds) ? ', for example 3.' : '.'),
    )
  return second === undefined
    ? { is: 'read', value: first }
    : { is: 'open', ways: [exactly(first), exactly(second)] }
}

/** Whether somebody may wonder how it was read: a comma, a blank or a fraction is in it. */
export const wantsSaying = (text: string) => /[,\s/⁄]|\.\d*0$|\.\d{3}$/.test(text.trim())
