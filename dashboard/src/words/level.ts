import type { Level } from '@/api/types'

const WORDS: Record<Level, string> = { full: 'Full', limited: 'Limited', none: 'None' }
const LONG: Record<Level, string> = {
  full: 'Can do a full extrication',
  limited: 'Can start, not finish alone',
  none: 'No extrication from this rig',
}
/** Worst first: what needs a person stands on top. */
export const LEVELS: readonly Level[] = ['none', 'limited', 'full']

export const levelWord = (level: Level | undefined | null) => (level ? (WORDS[level] ?? level) : 'Unknown')
export const levelLong = (level: Level | undefined | null) =>
  level ? (LONG[level] ?? '') : 'Capability not known yet'
export const levelOrder = (level: Level | undefined | null) => (level ? LEVELS.indexOf(level) : -1)

export function marginWords(
  margin: number | null | undefined,
  level: Level | undefined,
  atLeast = false,
): string {
  if (level === 'none') return 'nothing left to lose: the rig is at none'
  if (margin === null || margin === undefined) return 'margin unknown'
  if (margin === 0) return 'no margin: the next loss drops it'
  return `can lose ${atLeast ? 'at least ' : ''}${margin} more ${margin === 1 ? 'piece' : 'pieces'}`
}

/** The same in a corner of a row. */
export function marginShort(margin: number | null | undefined, level: Level | undefined): string {
  if (level === 'none' || margin === null || margin === undefined) return ''
  return margin === 0 ? 'no margin' : `margin ${margin} ${margin === 1 ? 'piece' : 'pieces'}`
}

export function districtWords(full: number, minimum: number): string {
  if (full < minimum) {
    const short = minimum - full
    return `short: ${full} full of ${minimum} wanted, ${short} ${short === 1 ? 'rig' : 'rigs'} missing`
  }
  if (full === minimum) return `${full} full of ${minimum} wanted, none to spare`
  return `${full} full of ${minimum} wanted, ${full - minimum} to spare`
}
