// A mark of the map, and what is said of it.
export type Kind = 'zone' | 'rig' | 'station'
export interface MapMark {
  id: string
  kind: Kind
  name: string
  /** What the shape says, in a word or two. */
  word: string
  /** Further words, said after the name. */
  detail: string
  shape: string
  r: number
  /** None: it is in the list and not on the map. */
  lat?: number | null
  lon?: number | null
  /** Off the point, pixels: rigs of a station stand in a row below it. */
  dx: number
  dy: number
  /** Of a rig: the station that it stands at. */
  home?: string
}
export type PlacedMark = MapMark & { lat: number; lon: number }

export const hasPoint = (mark: MapMark): mark is PlacedMark =>
  typeof mark.lat === 'number' && typeof mark.lon === 'number'

export const said = (mark: MapMark) => `${mark.name}: ${mark.word}. ${mark.detail}`
