// Grades in words, and the figures in them that a coordinator may set. What may stand in a grade the server decides.
import type { Alternative, Drive, Grade, GradePart, Grades, Kind, Rating } from '@/api/types'
import { gearWord } from '@/words/gear'
import { kindWord } from '@/words/piece'
import { ratingName, ratingValue } from '@/words/ratings'
import { quantity } from '@/words/units'

export type GradeName = keyof Grades
export const GRADE_NAMES: readonly GradeName[] = ['limited', 'full', 'heavy']

/** For these a smaller figure is better, so that the one written is the most that is accepted. */
const AT_MOST = new Set(['mass', 'retracted_length'])
const DRIVES: Record<Drive, string> = {
  power_unit: 'power unit',
  hand_pump: 'hand pump',
  battery: 'battery',
}

/** What can be asked of a kind of tool, with the units that its figure is written in; none: letters. */
const FORCE = ['kN', 'lbf']
const LENGTH = ['mm', 'in']
const SPREADS: Record<string, string[]> = {
  lowest_spreading_force: FORCE,
  highest_spreading_force: FORCE,
  rated_spreading_force: FORCE,
  spreading_distance: LENGTH,
  lowest_pulling_force: FORCE,
  pulling_distance: LENGTH,
}
const CUTS: Record<string, string[]> = { cutter_opening: LENGTH, cutting_levels: [], cutting_capacity: [] }
const PUSHES: Record<string, string[]> = {
  push_force: FORCE,
  pull_force: FORCE,
  retracted_length: LENGTH,
  extended_length: LENGTH,
  stroke: LENGTH,
}
const MASS: Record<string, string[]> = { mass: ['kg', 'lb'] }
const TERMS: Partial<Record<Kind, Record<string, string[]>>> = {
  spreader: { ...SPREADS, ...MASS },
  cutter: { ...CUTS, ...MASS },
  combination_tool: { ...SPREADS, ...CUTS, ...MASS },
  ram: { ...PUSHES, ...MASS },
}
export const termsOf = (part: GradePart): Record<string, string[]> =>
  Object.assign({}, ...part.kinds.map((kind) => TERMS[kind] ?? {})) as Record<string, string[]>

/** "at least 720 mm spreading distance (EN 13204)". */
export function minimumWords(term: string, rating: Rating, system: 'us' | 'si'): string {
  const by = rating.standard ? ` (${[rating.standard, rating.edition].filter(Boolean).join(', ')})` : ''
  const most = AT_MOST.has(term) ? 'at most' : 'at least'
  return `${ratingName(term).toLowerCase()} ${most} ${ratingValue(rating, system)}${by}`
}

export function partWords(part: GradePart, system: 'us' | 'si'): string {
  const what = part.gear
    ? gearWord(part.gear).toLowerCase()
    : part.kinds.map((kind) => kindWord(kind).toLowerCase()).join(' or ')
  const minimums = Object.entries(part.minimums ?? {}).map(([term, rating]) =>
    minimumWords(term, rating, system),
  )
  const drives = part.drives?.length ? [`driven by ${part.drives.map((d) => DRIVES[d]).join(' or ')}`] : []
  const all = [...minimums, ...drives]
  return all.length ? `${what}: ${all.join(', ')}` : what
}

export function alternativeWords(alternative: Alternative, system: 'us' | 'si'): string {
  const parts = alternative.parts.map((part) => partWords(part, system))
  const same = parts.length > 1 && parts.every((words) => words === parts[0])
  const said = same ? `${parts.length} × ${parts[0]}` : parts.join('; and ')
  const covers = alternative.covers
  return covers
    ? `${said}; ${parts.length > 1 ? 'together they reach' : 'it reaches'} from ${quantity(covers.from, system)} to ${quantity(covers.to, system)} without a gap`
    : said
}

/** What a grade asks for beside its needs. */
export function gradeExtras(grade: Grade, system: 'us' | 'si'): string[] {
  return [
    (grade.tools_at_once ?? 1) > 1 ? `${grade.tools_at_once} tools at once` : '',
    (grade.kinds_of_drive ?? 1) > 1 ? `${grade.kinds_of_drive} kinds of drive` : '',
    grade.spare_packs
      ? `${grade.spare_packs} spare ${grade.spare_packs === 1 ? 'pack' : 'packs'} where battery tools are counted`
      : '',
    grade.line_length ? `${quantity(grade.line_length, system)} of hose to each tool` : '',
    grade.hand_pump ? 'a hand pump may drive it' : '',
  ].filter(Boolean)
}

/** A figure at a place in a grade. */
export interface Spot {
  need: number
  alternative: number
  part: number
  term: string
}

/** The grade with one figure set, or taken out. */
export function withMinimum(grade: Grade, spot: Spot, rating: Rating | null): Grade {
  const swap = <T>(list: T[], at: number, to: (one: T) => T) =>
    list.map((one, i) => (i === at ? to(one) : one))
  return {
    ...grade,
    needs: swap(grade.needs, spot.need, (need) => ({
      ...need,
      alternatives: swap(need.alternatives, spot.alternative, (alternative) => ({
        ...alternative,
        parts: swap(alternative.parts, spot.part, (part) => {
          const minimums = { ...part.minimums }
          delete minimums[spot.term]
          return { ...part, minimums: rating ? { ...part.minimums, [spot.term]: rating } : minimums }
        }),
      })),
    })),
  }
}

export const withCover = (
  grade: Grade,
  need: number,
  alternative: number,
  from: number,
  to: number,
): Grade => ({
  ...grade,
  needs: grade.needs.map((one, n) =>
    n !== need
      ? one
      : {
          ...one,
          alternatives: one.alternatives.map((other, a) =>
            a !== alternative || !other.covers
              ? other
              : {
                  ...other,
                  covers: {
                    from: { ...other.covers.from, value: from },
                    to: { ...other.covers.to, value: to },
                  },
                },
          ),
        },
  ),
})
