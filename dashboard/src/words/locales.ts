// The locales to choose from, each with what it changes.
import type { Locale } from '@/api/types'
import { dateLocale, spelled } from './locale'

const COUNTRIES: Record<Locale, string> = {
  'en-US': 'United States',
  'en-CA': 'Canada',
  'en-GB': 'United Kingdom',
  'en-IE': 'Ireland',
  'en-AU': 'Australia',
  'en-NZ': 'New Zealand',
}
const date = (locale: Locale) =>
  new Intl.DateTimeFormat(dateLocale(locale), {
    timeZone: 'UTC',
    day: 'numeric',
    month: 'short',
    year: 'numeric',
  }).format(Date.UTC(2026, 10, 30))

/** "United States (program; Nov 30, 2026)". */
export const LOCALES = (Object.keys(COUNTRIES) as Locale[]).map(
  (one) => [one, `${COUNTRIES[one]} (${spelled('programme', one)}; ${date(one)})`] as const,
)
