// A figure as a person types it, the way a register file has it: `8.1 in [NFPA 1936; 2015]`. What can be read in two ways is asked
// about. Which figure can stand is the server's to say.
import type { Dimension, Rating } from '@/api/types'
import { dimensionWord, unitsOf } from './plans'
import { ratingStandard, ratingValue } from './ratings'
import { BELOW_ZERO, blanks, exactly, NOT_PLAIN, numberIn } from './typed'

/** What a term is written in; null: the short forms for cutting. */
const FORCE = 'force'
const LENGTH = 'length'
const TERMS: Record<string, Dimension | null> = {
  lowest_spreading_force: FORCE,
  highest_spreading_force: FORCE,
  lowest_pulling_force: FORCE,
  highest_pulling_force: FORCE,
  rated_spreading_force: FORCE,
  spreading_distance: LENGTH,
  pulling_distance: LENGTH,
  cutter_opening: LENGTH,
  mouth_depth: LENGTH,
  cutting_levels: null,
  cutting_capacity: null,
  push_force: FORCE,
  push_force_2: FORCE,
  push_force_3: FORCE,
  ram_stages: 'count',
  pull_force: FORCE,
  retracted_length: LENGTH,
  extended_length: LENGTH,
  stroke: LENGTH,
  mass: 'mass',
  hose_length: LENGTH,
  run_time: 'time',
  tank_volume: 'volume',
  flow: 'flow',
  power: 'power',
}
export const TERM_LIST = Object.keys(TERMS)

export type Read =
  | { is: 'empty' }
  | { is: 'read'; rating: Rating }
  /** It can be meant in two ways; each as it would be written so that nobody can take it for the other. */
  | { is: 'open'; ways: [string, string] }
  | { is: 'unreadable'; words: string }

const EMPTY: Read = { is: 'empty' }
const not = (words: string): Read => ({ is: 'unreadable', words })

/** Usual spellings of the units. */
const SPELLINGS: Record<string, string> = {
  '"': 'in',
  '”': 'in',
  inch: 'in',
  inches: 'in',
  "'": 'ft',
  '’': 'ft',
  feet: 'ft',
  foot: 'ft',
  lbs: 'lb',
  kn: 'kN',
  n: 'N',
  mpa: 'MPa',
  kpa: 'kPa',
  l: 'L',
  gal: 'US gal',
  gpm: 'gal/min',
  'l/min': 'L/min',
  minutes: 'min',
  hours: 'h',
  hr: 'h',
  stage: 'stages',
}
const symbol = (text: string) => SPELLINGS[text.toLowerCase()] ?? text

function quantity(text: string, dimension: Dimension): Read {
  const said = blanks(text)
  const [, typed = '', unit = ''] = /^([\d\s.,+\-−–/⁄]*)(.*)$/.exec(said) ?? []
  const digits = typed.trim().replace(/^\+/, '')
  if (!digits) return not(`Write a number with its unit: ${unitsOf(dimension).join(', ')}.`)
  if (/^[-−–]/.test(digits)) return not(BELOW_ZERO)
  const found = numberIn(digits)
  if (!found)
    return not(
      /\d\s*[-–/]\s*\d/.test(digits)
        ? 'That is more than one number. Give the lowest and the highest each in its own field.'
        : NOT_PLAIN,
    )
  const given = symbol(unit.trim()) || (dimension === 'count' ? 'stages' : '')
  if ('grouped' in found && (!given || unitsOf(dimension).includes(given))) {
    const ways = [exactly(found.grouped), exactly(found.decimal)].map((way) => `${way} ${given}`.trim())
    return { is: 'open', ways: ways as [string, string] }
  }
  const units = unitsOf(dimension)
  if (!given) return not(`Add the unit: ${units.join(', ')}.`)
  if (!units.includes(given))
    return not(
      `“${unit.trim()}” is not a unit of ${dimensionWord(dimension).toLowerCase()}. Write it in ${units.join(', ')}.`,
    )
  const value = 'value' in found ? found.value : found.grouped
  return { is: 'read', rating: { value, unit: given } }
}

const LEVELS = /^A[1-9][/, ]+B[1-9][/, ]+C[1-9][/, ]+D[1-9][/, ]+E[1-9](?:[/, ]+F[1-9])?$/
function levels(text: string): Read {
  const said = text.toUpperCase()
  if (!LEVELS.test(said)) return not('Write the level of each material, A to E: A8/B9/C8/D9/E9.')
  return { is: 'read', rating: { levels: said.split(/[/, ]+/).join('/') } }
}
const letter = (text: string): Read =>
  /^[A-K]$/i.test(text)
    ? { is: 'read', rating: { letter: text.toUpperCase() } }
    : not('Write one letter from A to K.')

/** A pressure and the like, which names no standard. */
export function readQuantity(text: string, dimension: Dimension): Read {
  return text.trim() ? quantity(text, dimension) : EMPTY
}

/** A figure in a term, with its standard and edition in brackets where they stand there. */
export function readRating(text: string, term: string): Read {
  const said = text.trim()
  if (!said) return EMPTY
  const [, figure = said, inner = ''] = /^([^[\]]*)\[([^[\]]*)\]$/.exec(said) ?? []
  if (/[[\]]/.test(figure))
    return not('Write the standard at the end, in brackets: 8.1 in [NFPA 1936; 2015].')
  const dimension = TERMS[term] ?? null
  const bare = figure.trim()
  const read =
    dimension !== null ? quantity(bare, dimension) : term === 'cutting_levels' ? levels(bare) : letter(bare)
  const [standard = '', edition = ''] = inner.split(';').map((part) => part.trim())
  const by = inner.trim() ? ` [${inner.trim()}]` : ''
  if (read.is === 'open') return { is: 'open', ways: [read.ways[0] + by, read.ways[1] + by] }
  if (read.is !== 'read') return read
  return {
    is: 'read',
    rating: { ...read.rating, ...(standard ? { standard } : {}), ...(edition ? { edition } : {}) },
  }
}

/** A figure on record as it would be typed. */
export function typedRating(rating: Rating): string {
  const figure = rating.levels ?? rating.letter ?? typedQuantity(rating)
  const by = [rating.standard, rating.edition].filter(Boolean).join('; ')
  return by ? `${figure} [${by}]` : figure
}
export const typedQuantity = (
  q: { value?: number | null | undefined; unit?: string | null | undefined } | null | undefined,
) => (q?.value === undefined || q.value === null ? '' : `${exactly(q.value)} ${q.unit ?? ''}`.trim())

/** How a term is written: an example in the units of the agency. */
export function exampleOf(term: string, system: 'us' | 'si'): string {
  const dimension = TERMS[term] ?? null
  if (dimension === null) return term === 'cutting_levels' ? 'A8/B9/C8/D9/E9' : 'H'
  return exampleIn(dimension, system)
}
const EXAMPLES: Partial<Record<Dimension, { us: string; si: string }>> = {
  force: { us: '14300 lbf', si: '63.6 kN' },
  length: { us: '8.1 in', si: '205 mm' },
  pressure: { us: '10500 psi', si: '720 bar' },
  mass: { us: '41.5 lb', si: '18.8 kg' },
  time: { us: '35 min', si: '35 min' },
  volume: { us: '0.9 US gal', si: '3.5 L' },
  flow: { us: '0.6 gal/min', si: '2.3 L/min' },
  power: { us: '3.5 hp', si: '2.6 kW' },
  count: { us: '2', si: '2' },
}
export const exampleIn = (dimension: Dimension, system: 'us' | 'si') => EXAMPLES[dimension]?.[system] ?? ''

const MATERIALS = ['round bar', 'flat bar', 'pipe', 'square tube', 'angle', 'F']
/** What was understood of a typed figure, in both systems: "8.1 in (206 mm), NFPA 1936, edition 2015". */
export function understood(
  term: string | undefined,
  rating: Rating,
  by: Pick<Rating, 'standard' | 'edition'>,
  system: 'us' | 'si',
): string {
  const own = ratingValue(rating, system)
  const other = rating.unit ? ratingValue(rating, system === 'us' ? 'si' : 'us') : own
  const figure = rating.levels
    ? rating.levels
        .split('/')
        .map((level, n) => `${MATERIALS[n]} ${level.slice(1)}`)
        .join(', ')
    : own === other
      ? own
      : `${own} (${other})`
  const standard = term ? ratingStandard(term, rating.standard ? rating : { ...rating, ...by }) : ''
  return standard ? `${figure}, ${standard}` : figure
}
