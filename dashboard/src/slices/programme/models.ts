// A model while it is written: each figure as it was typed, and what is sent of it once every one can be read in one way.
import type { BodyOf } from 'fullset-client'
import type { Gear, Hookup, Kind, Model, Rating } from '@/api/types'
import { readQuantity, readRating, TERM_LIST, typedQuantity, typedRating, type Read } from '@/words/figures'
import { byTest } from '@/words/ratings'

export const MOST_OUTLETS = 3
export const MOST_LOWER = 4
export const FLUIDS = ['mineral oil', 'phosphate ester', 'polyalphaolefin'] as const
export type Fluid = (typeof FLUIDS)[number]

const TOOLS: Kind[] = ['cutter', 'spreader', 'combination_tool', 'ram']
export const isTool = (kind: Kind | '') => TOOLS.some((one) => one === kind)
export const isSource = (kind: Kind | '') => kind === 'power_unit' || kind === 'hand_pump'
export const isConduit = (kind: Kind | '') => kind === 'hose' || kind === 'adapter'
/** What holds a fluid and is joined by couplings. */
export const isWet = (kind: Kind | '') => isTool(kind) || isSource(kind) || isConduit(kind)
export const takesBattery = (kind: Kind | '') => isTool(kind) || kind === 'battery' || kind === 'charger'

const SPREADS = [
  'lowest_spreading_force',
  'highest_spreading_force',
  'lowest_pulling_force',
  'highest_pulling_force',
  'rated_spreading_force',
  'spreading_distance',
  'pulling_distance',
]
const CUTS = ['cutter_opening', 'cutting_levels', 'cutting_capacity']
const PUMPS = ['run_time', 'tank_volume', 'flow', 'power', 'mass']
const TERMS: Record<Kind, string[]> = {
  power_unit: PUMPS,
  hand_pump: ['tank_volume', 'flow', 'mass'],
  cutter: [...CUTS, 'mass'],
  spreader: [...SPREADS, 'mass'],
  combination_tool: [...SPREADS, ...CUTS, 'mass'],
  ram: [
    'push_force',
    'push_force_2',
    'push_force_3',
    'ram_stages',
    'pull_force',
    'retracted_length',
    'extended_length',
    'stroke',
    'mass',
  ],
  hose: ['hose_length', 'mass'],
  battery: ['run_time', 'mass'],
  adapter: ['mass'],
  charger: ['mass'],
  accessory: ['mass'],
}
/** The terms that such a piece is usually rated in, and whatever stands on record beside them. */
export const termsFor = (kind: Kind | '', figures: Record<string, string>) => {
  const usual = kind ? TERMS[kind] : []
  return [...usual, ...TERM_LIST.filter((term) => !usual.includes(term) && figures[term]?.trim())]
}

export interface OutletDraft {
  coupling: string
  pressure: string
  circuits: string
}
export interface LowerDraft {
  pressure: string
  figures: Record<string, string>
}
export interface ModelDraft {
  name: string
  kind: Kind | ''
  gear: Gear | ''
  /** What its operators are signed off on; empty: as on everything of its kind. */
  family: string
  coupling: string
  toolCoupling: string
  fluid: Fluid | ''
  pressure: string
  allowable: string
  battery: string
  circuits: string
  outlets: OutletDraft[]
  /** What is rated, by term, as it was typed. */
  figures: Record<string, string>
  /** For every tested figure that names no standard of its own. */
  standard: string
  edition: string
  lower: LowerDraft[]
  dump: '' | 'yes' | 'no'
}

const typed = (ratings: Record<string, Rating> = {}) =>
  Object.fromEntries(Object.entries(ratings).map(([term, rating]) => [term, typedRating(rating)]))
const count = (n: number | null | undefined) => (n === null || n === undefined ? '' : String(n))

export function draftOf(model: Model | null): ModelDraft {
  const hookup: Hookup = model?.hookup ?? {}
  return {
    name: model?.name ?? '',
    kind: model?.kind ?? '',
    gear: model?.gear ?? '',
    family: model?.family ?? '',
    coupling: hookup.coupling ?? '',
    toolCoupling: hookup.tool_coupling ?? '',
    fluid: hookup.fluid ?? '',
    pressure: typedQuantity(hookup.pressure),
    allowable: typedQuantity(hookup.allowable_pressure),
    battery: hookup.battery ?? '',
    circuits: count(hookup.circuits),
    outlets: (hookup.outlets ?? []).map((one) => ({
      coupling: one.coupling,
      pressure: typedQuantity(one.pressure),
      circuits: count(one.circuits),
    })),
    figures: typed(model?.ratings),
    standard: '',
    edition: '',
    lower: (model?.rated_at ?? []).map((one) => ({
      pressure: typedQuantity(one.pressure),
      figures: typed(one.ratings),
    })),
    dump: model?.dump_valve === true ? 'yes' : model?.dump_valve === false ? 'no' : '',
  }
}

type Quantity = NonNullable<Hookup['pressure']>
/** Reads what was typed and notes whether anything is still open. */
class Reader {
  open = false
  #said(read: Read): Rating | null {
    if (read.is === 'open' || read.is === 'unreadable') this.open = true
    return read.is === 'read' ? read.rating : null
  }
  pressure(text: string): Quantity | null {
    const rating = this.#said(readQuantity(text, 'pressure'))
    return rating?.value === undefined || rating.value === null
      ? null
      : { value: rating.value, unit: rating.unit ?? '' }
  }
  /** One that cannot be left out. */
  needed(text: string): Quantity {
    const pressure = this.pressure(text)
    if (!pressure) this.open = true
    return pressure ?? { value: 0, unit: '' }
  }
  ratings(draft: ModelDraft, figures: Record<string, string>): Record<string, Rating> {
    const by = {
      ...(draft.standard.trim() ? { standard: draft.standard.trim() } : {}),
      ...(draft.standard.trim() && draft.edition.trim() ? { edition: draft.edition.trim() } : {}),
    }
    const found: Record<string, Rating> = {}
    for (const term of termsFor(draft.kind, figures)) {
      const rating = this.#said(readRating(figures[term] ?? '', term))
      if (rating) found[term] = byTest(term) && !rating.standard ? { ...rating, ...by } : rating
    }
    return found
  }
}

const whole = (text: string | number | null) => {
  const said = String(text ?? '').trim()
  return /^\d+$/.test(said) ? Number(said) : null
}
function hookupOf(draft: ModelDraft, read: Reader): Hookup {
  const { kind } = draft
  const set = <K extends keyof Hookup>(key: K, value: Hookup[K] | '' | null) =>
    value === '' || value === null || value === undefined ? {} : { [key]: value }
  const circuits = whole(draft.circuits)
  return {
    ...(isWet(kind) ? set('coupling', draft.coupling) : {}),
    ...(isConduit(kind) ? set('tool_coupling', draft.toolCoupling) : {}),
    ...(isWet(kind) ? set('fluid', draft.fluid) : {}),
    ...(isWet(kind) ? set('pressure', read.pressure(draft.pressure)) : {}),
    ...(isTool(kind) ? set('allowable_pressure', read.pressure(draft.allowable)) : {}),
    ...(takesBattery(kind) ? set('battery', draft.battery.trim()) : {}),
    ...(isSource(kind) ? set('circuits', circuits) : {}),
    ...(kind === 'power_unit' && draft.outlets.length
      ? {
          outlets: draft.outlets.map((one) => ({
            coupling: one.coupling,
            pressure: read.needed(one.pressure),
            ...(whole(one.circuits) === null ? {} : { circuits: whole(one.circuits) }),
          })),
        }
      : {}),
  }
}

/** The model as it would be sent; null while a figure can be read in two ways, or not at all. */
export function bodyOf(draft: ModelDraft, id: string): BodyOf<'model.add'> | null {
  const name = draft.name.trim()
  if (!name || !draft.kind) return null
  const read = new Reader()
  const body = {
    id,
    name,
    kind: draft.kind,
    ...(draft.kind === 'accessory' && draft.gear ? { gear: draft.gear } : {}),
    ...(isTool(draft.kind) || isSource(draft.kind) ? { family: draft.family.trim() } : {}),
    hookup: hookupOf(draft, read),
    ratings: read.ratings(draft, draft.figures),
    rated_at: isTool(draft.kind)
      ? draft.lower.map((one) => ({
          pressure: read.needed(one.pressure),
          ratings: read.ratings(draft, one.figures),
        }))
      : [],
    ...(isSource(draft.kind) && draft.dump ? { dump_valve: draft.dump === 'yes' } : {}),
  }
  return read.open ? null : body
}

/** What is sent to change a model: only what differs; null where nothing does or something is still open. */
export function changeOf(draft: ModelDraft, seen: Model): Omit<BodyOf<'model.edit'>, 'reason'> | null {
  const now = bodyOf(draft, seen.id)
  const was = bodyOf(draftOf(seen), seen.id)
  if (!now || !was) return null
  const changed = (['name', 'gear', 'family', 'hookup', 'ratings', 'rated_at', 'dump_valve'] as const).filter(
    (key) => key in now && !same(now[key], was[key]),
  )
  if (!changed.length) return null
  return { id: seen.id, ...Object.fromEntries(changed.map((key) => [key, now[key]])) }
}
function same(a: unknown, b: unknown): boolean {
  const ordered = (value: unknown): unknown =>
    Array.isArray(value)
      ? value.map(ordered)
      : value && typeof value === 'object'
        ? Object.fromEntries(
            Object.entries(value)
              .filter(([, part]) => part !== null && part !== undefined)
              .toSorted(([x], [y]) => (x < y ? -1 : 1))
              .map(([key, part]) => [key, ordered(part)]),
          )
        : value
  return JSON.stringify(ordered(a)) === JSON.stringify(ordered(b))
}

/** What a list of models can be narrowed to, each with what makes a model one of them. */
export const LACKS: Record<string, { words: string; of: (model: Model) => boolean }> = {
  look: { words: 'A figure to look at again', of: (one) => one.warnings.length > 0 },
  ratings: {
    words: 'No rating on record',
    of: (one) => isTool(one.kind) && Object.keys(one.ratings).length === 0,
  },
  standard: {
    words: 'A rating without its standard',
    of: (one) => Object.entries(one.ratings).some(([term, rating]) => byTest(term) && !rating.standard),
  },
  hookup: {
    words: 'Hook-up not known',
    of: ({ kind, hookup }) =>
      isWet(kind) && !hookup.battery && (!hookup.coupling || !hookup.fluid || !hookup.pressure),
  },
}
