// What a join picture is made of: seats that have their place whatever sits in them, and what joins them. What they are called
// is the caller's matter.
import type { ComponentProps } from 'svelte'
import type Mark from '../Mark.svelte'

export type MarkProps = Pick<ComponentProps<typeof Mark>, 'shape' | 'tone' | 'word'>

/** Where a seat stands: sources and packs on the left, what leads on in the middle, tools on the right, small gear below. */
export type Zone = 'source' | 'pack' | 'line' | 'tool' | 'gear'
/**
 * `counted`: it does its work there. `idle`: aboard, and nothing counts it. `limit`: usable in spite of something. `out`: it must
 * not be used. `away`: it belongs there and is elsewhere. `empty`: nobody knows of any.
 */
export type SeatState = 'counted' | 'idle' | 'limit' | 'out' | 'away' | 'empty'

export interface Seat {
  key: string
  zone: Zone
  state: SeatState
  title: string
  glyph: string
  /** What is marked on it, such as a tag. */
  sub?: string
  /** A state that is to be seen. */
  mark?: MarkProps
  /** Where it is, or what is the matter, in few words. */
  why?: string
  /** When it is expected. */
  when?: string
  /** The list can do without it. */
  quiet?: boolean
  /** What drives it, where that is no seat of its own. */
  own?: string
  /** True when losing it alone would lower the answer. */
  critical?: boolean
  fresh?: string
  /** All of it as one sentence, for who hears the picture. */
  name: string
  /** Beyond the list: it takes a row of its own at the end, so that no seat of the list moves. */
  extra?: boolean
}
export interface Join {
  from: string
  to: string
  by: 'line' | 'pack'
}
export interface PictureModel {
  seats: Seat[]
  joins: Join[]
  /** What is struck through as a whole says why. */
  struck?: string
}
