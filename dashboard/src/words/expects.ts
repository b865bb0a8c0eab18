// What is expected of a rig, in the corner of a row.
import type { Level } from '@/api/types'
import { levelWord } from './level'

/** "full expected"; a rig without a class has its level all the same, and nothing is expected of it. */
export const expectsWords = (expects: Level | undefined | null) =>
  expects ? `${levelWord(expects).toLowerCase()} expected` : 'expected: not set'
/** Whether a rig is judged and nobody has said what it should reach. */
export const isUnasked = (standing: { level: Level; expects?: Level | null } | undefined) =>
  standing !== undefined && standing.level !== 'not_judged' && !standing.expects
