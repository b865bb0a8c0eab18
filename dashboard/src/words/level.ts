import type { Completeness, Level, RigStanding } from '@/api/types'
import { moment, spoken } from './time'

const WORDS: Record<Level, string> = {
  not_judged: 'Not judged yet',
  none: 'None',
  limited: 'Limited',
  full: 'Full',
  heavy: 'Heavy',
}
const LONG: Record<Level, string> = {
  not_judged: 'Nobody has chosen the grades yet',
  none: 'Records say that it meets no grade',
  limited: 'Records say that it can begin, not finish alone',
  full: 'Records say that it meets the full grade',
  heavy: 'Records say that it meets the heavy grade',
}
/** Worst first: what needs a person stands on top. */
export const LEVELS: readonly Level[] = ['none', 'limited', 'full', 'heavy']
/** Those that a list is filtered by. */
export const ALL_LEVELS: readonly Level[] = ['not_judged', ...LEVELS]

export const levelWord = (level: Level | undefined | null) => (level ? (WORDS[level] ?? level) : 'Unknown')
export const levelLong = (level: Level | undefined | null) =>
  level ? (LONG[level] ?? '') : 'Its level has not arrived yet'
/** Where a level stands; what is not known or not judged stands below all. */
export const levelOrder = (level: Level | undefined | null) => (level ? LEVELS.indexOf(level) : -1)
export const isFull = (level: Level | undefined | null) => level === 'full' || level === 'heavy'

type Held = Pick<RigStanding, 'level' | 'expects' | 'confirmed' | 'completeness'>

/** Until when a rig's answer holds by itself. Good is only what is expected of it, confirmed, with its list whole. */
export const untilLevelWords = (of: Held, until: string, why?: string | null, now = new Date()) =>
  levelOrder(of.level) >= levelOrder(of.expects ?? 'full') && of.confirmed && of.completeness !== 'incomplete'
    ? `Good until ${moment(until, now)}: ${why ? spoken(why, now) : 'a date runs out then'}.`
    : `No date on record changes that before ${moment(until, now)}.`

/** "Below limited: spreader SP-3 runs, ram RM-7 runs". */
export const runsWords = (runs: string[]) => (runs.length ? `Below limited: ${runs.join(', ')}` : '')

export function marginWords(
  margin: number | null | undefined,
  level: Level | undefined,
  atLeast = false,
): string {
  if (level === 'none') return 'the rig meets no grade'
  if (margin === null || margin === undefined) return 'margin unknown'
  if (margin === 0) return 'no margin: losing a single piece can drop it'
  return `can lose ${atLeast ? 'at least ' : ''}${margin} more ${margin === 1 ? 'piece' : 'pieces'}, whichever they are`
}

/** The same in a corner of a row. Most rigs have none to lose: only what a rig can lose tells it from the others. */
export const marginShort = (margin: number | null | undefined) =>
  margin ? `can lose ${margin} ${margin === 1 ? 'piece' : 'pieces'}` : ''

export const completenessShort = (completeness: Completeness | undefined) =>
  completeness === 'incomplete' ? 'list incomplete' : completeness === 'no_list' ? 'no list set' : ''

const COMPLETE: Record<Completeness, string> = {
  complete: 'Everything its class asks for is aboard',
  incomplete: 'Something its class asks for is missing',
  no_list: 'Its class has no list, or it has no class',
}
export const completenessLong = (completeness: Completeness | undefined) =>
  completeness ? COMPLETE[completeness] : 'Not known yet'

const rigs = (count: number) => `${count} ${count === 1 ? 'rig' : 'rigs'}`

/** `unasked`: nobody has said which of its rigs should be full, so that none is missed. */
export function districtWords(full: number, minimum: number, unasked = false): string {
  if (unasked) return `${full} full; nobody has set which rigs should be`
  if (minimum === 0) return `${full} full, no minimum set`
  if (full < minimum) return `short: ${full} full of ${minimum} wanted, ${rigs(minimum - full)} missing`
  if (full === minimum) return `${full} full of ${minimum} wanted, none to spare`
  return `${full} full of ${minimum} wanted, ${full - minimum} to spare`
}

/** A minimum that cannot be met by the rigs that should be full. */
export const minimumWords = (minimum: number, expected: number) =>
  `The minimum of ${minimum} is above the ${rigs(expected)} here that should be full: change the minimum, or what is expected of the rigs`

export interface Headline {
  /** Rigs at full or above, whatever is expected of them. */
  full: number
  expected: number
  able: number
  confirmed: number
  /** Rigs whose answer waits for something, so that they are in neither number. */
  notCounted: number
}

/** "27 of 34 rigs meant for it can do a full extrication; 21 confirmed". */
export function headlineWords({ full, expected, able, confirmed }: Headline): string {
  if (!expected) return `${rigs(full)} can do a full extrication; nobody has set which rigs should`
  return `${able} of ${rigs(expected)} meant for it can do a full extrication; ${confirmed} confirmed`
}
