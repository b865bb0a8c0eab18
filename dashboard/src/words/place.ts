import type { Place } from '@/api/types'
import { dateWords } from './time'

export interface Names {
  rig(id: string): string | undefined
  station(id: string): string | undefined
  shop(id: string): string | undefined
}

export function placeWords(place: Place | null | undefined, names: Names): string {
  if (!place) return 'Place not known'
  switch (place.at) {
    case 'rig':
      return `On ${names.rig(place.rig) ?? 'a rig'}`
    case 'shelf':
      return `Reserve shelf, ${names.station(place.station) ?? 'a station'}`
    case 'shop':
      return `At ${names.shop(place.shop) ?? 'the shop'}`
    case 'vendor':
      return `At ${place.name}${place.due_on ? `, due ${dateWords(place.due_on)}` : ''}`
    case 'loan':
      return `On loan to ${place.name}${place.due_on ? `, due ${dateWords(place.due_on)}` : ''}`
    case 'transit': {
      const to = placeWords(place.to, names)
      return `In transit, not yet arrived: ${to.charAt(0).toLowerCase()}${to.slice(1)}`
    }
    case 'retired':
      return 'Retired'
    default:
      return 'Somewhere this page does not know'
  }
}

/** A place after "from": "Engine 17" instead of "On Engine 17". */
export const afterFrom = (words: string) => words.replace(/^(On|At) /, '')

/** The rig a piece rides on, when it does. */
export const rigOf = (place: Place | null | undefined) => (place?.at === 'rig' ? place.rig : null)
