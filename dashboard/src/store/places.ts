// The places that a piece can be put to, as the choices of a list, and the place that a choice stands for.
import type { Place } from '@/api/types'
import { byName } from '@/words/order'
import { world } from './world.svelte'

const choices = (at: string, list: { id: string; name: string }[]) =>
  list.toSorted(byName).map((one) => ({ value: `${at}:${one.id}`, words: one.name }))

/** Every rig, shelf and shop of the agency. */
export const placeChoices = () => [
  { name: 'Rigs', options: choices('rig', world.all('rig')) },
  { name: 'Reserve shelves', options: choices('shelf', world.all('station')) },
  { name: 'Shops', options: choices('shop', world.all('shop')) },
]

/** The place of a choice; null where it is none of these. */
export function placeOf(choice: string): Place | null {
  const [at, id = ''] = choice.split(':')
  if (at === 'rig') return { at, rig: id }
  if (at === 'shelf') return { at, station: id }
  if (at === 'shop') return { at, shop: id }
  return null
}

/** The choice that stands for a place; none where it is no rig, shelf or shop. */
export function choiceOf(place: Place | null | undefined): string {
  if (place?.at === 'rig') return `rig:${place.rig}`
  if (place?.at === 'shelf') return `shelf:${place.station}`
  return place?.at === 'shop' ? `shop:${place.shop}` : ''
}
