// Addresses at which a calendar reads checks that fall due. Whoever has one reads it: the secret in it is made here, and only its hash
// goes to the server.
import { sha256 } from 'fullset-client/photos'
import type { CalendarPlace, Id } from '@/api/types'

export interface FeedSecret {
  /** As it stands in the address: 32 random bytes as base64url, 43 signs. */
  secret: string
  sha256: string
}
/** A new one; null where the browser makes no hashes, which is so without https. */
export async function newFeedSecret(
  bytes = crypto.getRandomValues(new Uint8Array(32)),
): Promise<FeedSecret | null> {
  if (!globalThis.crypto.subtle) return null
  const secret = btoa(String.fromCharCode(...bytes))
    .replaceAll('+', '-')
    .replaceAll('/', '_')
    .replace(/=+$/, '')
  return { secret, sha256: await sha256(new TextEncoder().encode(secret)) }
}
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
