import type { Hookup, Rating } from '@/api/types'
import { humanise } from './piece'
import { quantity } from './units'

const NAMES: Record<string, string> = {
  push_force_2: 'Push force, second stage',
  push_force_3: 'Push force, third stage',
  retracted_length: 'Length, closed',
  extended_length: 'Length, extended',
  hose_length: 'Length',
  mass: 'Weight',
}
export const ratingName = (key: string) => NAMES[key] ?? humanise(key)

export function ratingValue(rating: Rating, system: 'us' | 'si'): string {
  if (rating.levels) return rating.levels.replaceAll('/', ' ')
  if (rating.letter) return `class ${rating.letter}`
  return quantity(rating, system)
}

/** Figures that anybody can measure with a rule or a scale; no standard's own test stands behind them. */
const PLAIN = new Set([
  'mass',
  'hose_length',
  'run_time',
  'tank_volume',
  'retracted_length',
  'extended_length',
  'stroke',
  'ram_stages',
  'flow',
  'power',
  'mouth_depth',
])
/** Whether the figure comes out of a standard's own test, so that it is only half said without it. */
export const byTest = (key: string) => !PLAIN.has(key)

/** A force or an opening without its standard and edition is only half a number. */
export function ratingStandard(key: string, rating: Rating): string {
  if (!rating.standard) return PLAIN.has(key) ? '' : 'standard not stated'
  return rating.edition
    ? `${rating.standard}, edition ${rating.edition}`
    : `${rating.standard}, edition not stated`
}

export function hookupWords(hookup: Hookup, system: 'us' | 'si'): { name: string; value: string }[] {
  const rows: { name: string; value: string }[] = []
  if (hookup.coupling) rows.push({ name: 'Coupling', value: hookup.coupling })
  if (hookup.tool_coupling) rows.push({ name: 'Coupling, tool end', value: hookup.tool_coupling })
  if (hookup.fluid) rows.push({ name: 'Fluid', value: hookup.fluid })
  if (hookup.pressure) rows.push({ name: 'Pressure', value: quantity(hookup.pressure, system) })
  if (hookup.circuits) rows.push({ name: 'Circuits', value: String(hookup.circuits) })
  if (hookup.battery) rows.push({ name: 'Battery family', value: hookup.battery })
  return rows
}
