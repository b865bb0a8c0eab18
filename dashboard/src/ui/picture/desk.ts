// What the hook-up asks of whoever shows it, and what it tells him.
import type { ComponentProps } from 'svelte'
import type EffectBox from '../EffectBox.svelte'
import type Send from '../Send.svelte'
import type { MarkProps, PictureModel } from './parts'

/** A piece that could go onto a seat. */
export interface Spare {
  key: string
  tag: string
  glyph: string
  what: string
  /** Where it is and how far that is. */
  where: string
  /** What it would leave open behind. */
  leaves: string
  /** Seats that it would fit, the first first. */
  seats: string[]
}
/** What a seat's own sheet says. */
export interface PartFacts {
  title: string
  mark: MarkProps | undefined
  lines: string[]
  defects: { key: string; mark: MarkProps; text: string }[]
  acts: { href: string; words: string; strong?: boolean }[]
}
/** A spare that is held against a seat, and what it would do there. Nothing is done yet. */
export interface Trying {
  title: string
  about: string[]
  /** What the rig becomes. */
  becomes: MarkProps
  driving: boolean
  leaves: string
  effect: Pick<ComponentProps<typeof EffectBox>, 'words' | 'rows' | 'busy' | 'trouble'>
  act: ComponentProps<typeof Send>['act']
}
export interface HookupDesk {
  readonly model: PictureModel
  readonly label: string
  part(seat: string): PartFacts | undefined
  readonly spares: Spare[]
  /** Why the spares are not known, or not all shown; empty where they are. */
  readonly note: string
  /** Where all that could be put aboard is listed. */
  readonly all: string
  readonly trying: Trying | null
  hold(spare: string, seat: string): void
  drive(on: boolean): void
  leave(): void
  commit(): void
}
