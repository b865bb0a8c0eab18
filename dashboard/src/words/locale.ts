// Where the agency is, and how its screens spell and write a date there. The source has the British words, and only this list
// knows others. What is drawn with them is drawn anew when an admin changes it.
import { createSubscriber } from 'svelte/reactivity'
import type { Locale } from '@/api/types'

/** British, the other, and the countries that have the other (common practice, no source). Short, as everybody loads it: a word that
 *  all of them spell alike is better. */
export const SPELLINGS = [['programme', 'program', 'US CA AU']]

// No rune: the browser tests read the routes, and with them this, as they are.
let zone = 'UTC'
let locale: Locale = 'en-GB'
let turn = () => {}
const follow = createSubscriber((update) => {
  turn = update
})

export function useZone(name = 'UTC') {
  const before = zone
  try {
    new Intl.DateTimeFormat('en', { timeZone: name })
    zone = name
  } catch {
    zone = 'UTC'
  }
  if (zone !== before) turn()
}
export function zoneName() {
  follow()
  return zone
}

/** Whatever is not known reads as screens did before there was a choice. */
export function useLocale(name: Locale = 'en-GB') {
  if (name === locale) return
  locale = name
  turn()
}
function localeName() {
  follow()
  return locale
}

/** The locale that dates in words have: "Nov 30, 2026" in the United States, "30 Nov 2026" elsewhere. */
export const dateLocale = (of = localeName()): string => (of === 'en-US' ? of : 'en-GB')

/** Words of ours, as the agency spells them. Nobody else's words go through here. */
export function spelled(words: string, of = localeName()): string {
  for (const [from = '', to = '', where] of SPELLINGS)
    if (where?.includes(of.slice(3)))
      words = words.replace(RegExp(`\\b${from}\\b`, 'gi'), (one) => one[0] + to.slice(1))
  return words
}
