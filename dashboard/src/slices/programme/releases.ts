// The rules on defects in words, and what the agency has decided otherwise. What may be decided is the server's to say.
import type { BodyOf } from 'fullset-client'
import type { DefectRule, Measure } from '@/api/types'
import { measureName, signsWords } from '@/words/release'

type Shipped = DefectRule['shipped']
export type Own = NonNullable<BodyOf<'agency.release_rule'>['rule']>

export const USABLE: Record<DefectRule['usable_by'], string> = {
  nobody: 'Nobody: it goes out of service',
  officer: 'An officer or the shop',
  crew: 'Any member',
}
export const WITHIN: Record<NonNullable<DefectRule['within']>, string> = {
  three_days: '3 days',
  ten_days: '10 days',
  hundred_twenty_days: '120 days',
}
export const SIGNS: DefectRule['signs'][] = ['officer', 'technician', 'makers_service']

/** "Still usable by an officer’s word, for 10 days at most. It returns on the word of an officer, with ...". */
export function ruleWords(rule: Shipped): string {
  const use =
    rule.usable_by === 'nobody'
      ? 'Out of service at once.'
      : `Still usable where ${rule.usable_by === 'crew' ? 'a member' : 'an officer or the shop'} says so${rule.within ? `, repaired within ${WITHIN[rule.within]}` : ''}.`
  const readings = rule.readings.map((one) => measureName(one).toLowerCase())
  return `${use} Its return takes the word of ${signsWords(rule.signs)}${readings.length ? `, with: ${readings.join('; ')}` : ''}.`
}

/** A rule of the agency's own as the form begins with it. */
export const ownOf = (rule: DefectRule): Own => ({
  usable_by: rule.own?.usable_by ?? null,
  limit: rule.own?.limit ?? null,
  within: rule.own?.within ?? null,
  signs: rule.own?.signs ?? null,
  readings: rule.own?.readings ?? [],
})
/** The readings that a return of this kind can take beside those of the table. */
export const moreReadings = (rule: DefectRule, all: DefectRule[]): Measure[] =>
  [...new Set(all.filter((one) => one.kind === rule.kind).flatMap((one) => one.shipped.readings))].filter(
    (one) => !rule.shipped.readings.includes(one),
  )
