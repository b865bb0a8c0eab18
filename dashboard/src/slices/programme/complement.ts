// What a rig class must carry, while it is written.
import type { Duty, Slot } from '@/api/types'

export const DUTIES: Record<Duty, string> = {
  front_line: 'Front line: counted on the board',
  ready_reserve: 'Ready reserve: equipped, not counted',
  stripped_reserve: 'Stripped reserve: carries nothing',
}

/** A short name for machines, made once out of the words and free in this list. */
export function slotId(name: string, slots: Slot[]): string {
  const base =
    name
      .toLowerCase()
      .replace(/[^a-z0-9]+/g, '-')
      .replace(/^-+|-+$/g, '')
      .slice(0, 30) || 'place'
  const taken = new Set(slots.map((one) => one.id))
  if (!taken.has(base)) return base
  for (let n = 2; ; n++) if (!taken.has(`${base}-${n}`)) return `${base}-${n}`
}

export const slotWords = (slots: Slot[]) => {
  const required = slots.filter((one) => one.required).length
  const optional = slots.length - required
  if (!slots.length) return 'no list set'
  return `${required} required${optional ? `, ${optional} optional` : ''}`
}
export const rigsWords = (n: number) => `${n} ${n === 1 ? 'rig' : 'rigs'}`
