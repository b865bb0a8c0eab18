// What a join picture is made of. It knows sources, lines and ends; what they are called is the caller's matter.
export interface Part {
  key: string
  title: string
  /** A short mark, such as a tag. */
  sub?: string
  href?: string
  glyph: string
  /** True when nothing fills this place: drawn as an open end. */
  open?: boolean
  /** Why it is open, in words. */
  why?: string
  /** True when losing this part alone would lower the answer. */
  critical?: boolean
  fresh?: string
}
/** One line from a source: its parts in order, up to five. None: the end sits straight on the source. */
export interface Lead {
  line: Part[]
  ends: Part[]
}
export interface Group {
  source: Part | null
  leads: Lead[]
}
export interface PictureModel {
  groups: Group[]
  /** Parts that join to nothing but belong to the whole. */
  tray: Part[]
}
