import type { Kind, PieceState, Severity, Slot } from '@/api/types'

const KINDS: Record<Kind, string> = {
  power_unit: 'Power unit',
  hand_pump: 'Hand pump',
  cutter: 'Cutter',
  spreader: 'Spreader',
  combination_tool: 'Combination tool',
  ram: 'Ram',
  hose: 'Hose',
  battery: 'Battery',
  charger: 'Charger',
  accessory: 'Accessory',
}
export const KIND_LIST = Object.keys(KINDS) as Kind[]
export const kindWord = (kind: Kind | string | undefined) =>
  kind ? (KINDS[kind as Kind] ?? humanise(kind)) : 'Unknown kind'

const STATES: Record<PieceState, string> = {
  in_service: 'In service',
  out_of_service: 'Out of service',
  retired: 'Retired',
}
export const STATE_LIST = Object.keys(STATES) as PieceState[]
export const pieceStateWord = (state: PieceState | undefined) =>
  state ? (STATES[state] ?? humanise(state)) : 'Unknown'

export const severityWord = (s: Severity) => (s === 'usable' ? 'Defect, still usable' : 'Out of service')

const NEEDS: Record<Slot['need'], string> = { core: 'core', required: 'required', optional: 'optional' }
export const needWord = (need: Slot['need']) => NEEDS[need] ?? need

export function humanise(code: string): string {
  const words = code.replaceAll('_', ' ').replaceAll('-', ' ')
  return words.charAt(0).toUpperCase() + words.slice(1)
}

/** Quick phrases for a defect: what crews say most, by kind. Text is always free as well. */
export function defectPhrases(kind: Kind | undefined): string[] {
  switch (kind) {
    case 'hose':
      return [
        'Cover cut',
        'Blister or bulge',
        'Leaks at coupling',
        'Kinked',
        'Date of make not readable',
        'Cap missing',
      ]
    case 'power_unit':
      return [
        'Will not start',
        'Starts late',
        'Stops under load',
        'Fluid level low',
        'Leaks fluid',
        'Dump valve stiff',
      ]
    case 'hand_pump':
      return ['No pressure', 'Leaks fluid', 'Handle bent', 'Fluid level low']
    case 'battery':
      return ['Does not hold charge', 'Case damaged', 'Swollen', 'Was under water', 'Contacts dirty']
    case 'charger':
      return ['Does not charge', 'Cable damaged', 'Lamp dark']
    case 'ram':
      return [
        'Leaks at handle',
        'Does not hold',
        'Slow',
        'Head damaged',
        'Coupling will not join',
        'Control sticks',
      ]
    case 'cutter':
      return [
        'Leaks at handle',
        'Blade nicked',
        'Blades do not close',
        'Bolt loose',
        'Slow',
        'Coupling will not join',
      ]
    case 'spreader':
    case 'combination_tool':
      return [
        'Leaks at handle',
        'Tip worn or bent',
        'Arms do not open fully',
        'Slow',
        'Coupling will not join',
        'Control sticks',
      ]
    default:
      return ['Damaged', 'Part missing', 'Not clean']
  }
}

/** Sources first, tools next, small gear last; within a kind by tag as people count. */
export const byKind = (a: { kind: Kind; tag: string }, b: { kind: Kind; tag: string }) =>
  KIND_LIST.indexOf(a.kind) - KIND_LIST.indexOf(b.kind) || a.tag.localeCompare(b.tag, 'en', { numeric: true })
