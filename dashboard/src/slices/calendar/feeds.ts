// Addresses at which a calendar reads checks that fall due. Whoever has one reads it.
import type { CalendarPlace, Id } from '@/api/types'

export const addressOf = (secret: string, origin = location.origin) =>
  `${origin}/v1/calendars/${secret}/checks.ics`

/** A place as one choice of a form: its kind and its id. */
export function placeOf(choice: string): CalendarPlace | null {
  const [of = '', id = ''] = choice.split('/')
  if (of === 'district') return { of, district: id }
  if (of === 'station') return { of, station: id }
  if (of === 'rig') return { of, rig: id }
  return of === 'shop' ? { of, shop: id } : null
}
export function placeId(place: CalendarPlace): Id {
  switch (place.of) {
    case 'district':
      return place.district
    case 'station':
      return place.station
    case 'rig':
      return place.rig
    default:
      return place.shop
  }
}
