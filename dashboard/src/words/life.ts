// How old things are, and how long they serve.
import type { LifePart } from '@/api/types'
import { kindWord } from './piece'
import { dateWords } from './time'

const PARTS: Record<LifePart, string> = {
  whole: 'the piece itself',
  whip_hose: 'whip hose',
  reel_hose: 'reel hose',
  bag: 'bag',
  sling: 'sling',
  chain: 'chain',
}
export const PART_LIST = Object.keys(PARTS) as LifePart[]
export const partWord = (part: LifePart) => PARTS[part] ?? part

export const isMonth = (text: string | null | undefined) => /^\d{4}-\d{2}$/.test(text ?? '')

/** "14 May 2019"; as far as the label names it, "May 2019" or "2019". */
export const madeWords = (text: string | null | undefined) => {
  if (/^\d{4}$/.test(text ?? '')) return text ?? ''
  return isMonth(text) ? dateWords(`${text}-01`).replace(/\b1,? /, '') : dateWords(text)
}

/** "Hose"; "Combination tool, whip hose". */
export const whatWords = (life: { kind: string; part: LifePart }) =>
  life.part === 'whole' ? kindWord(life.kind) : `${kindWord(life.kind)}, ${partWord(life.part)}`

/** "10 years", "5 years or 500 charge cycles"; of a hose without years of its own the policy's. */
export function lifeWords(life: { years?: number | null; cycles?: number | null }): string {
  const parts = [
    life.years ? `${life.years} ${life.years === 1 ? 'year' : 'years'}` : '',
    life.cycles ? `${life.cycles} charge cycles` : '',
  ].filter(Boolean)
  return parts.join(' or ') || 'as long as the policy says for hoses'
}
