// The server of map pictures as somebody types it or copies it; what may stand there is the service's to say.
import type { MapTiles } from '@/api/types'

export interface TypedTiles {
  address: string
  attribution: string
  /** Empty: not chosen yet. */
  nearest: string
}

export const typedTiles = (tiles: MapTiles | null | undefined): TypedTiles => ({
  address: tiles?.address ?? '',
  attribution: tiles?.attribution ?? '',
  nearest: tiles ? String(tiles.nearest_zoom) : '',
})

/** The address as it is meant: out of a program it comes in quotes and with `${z}`, out of a browser's bar with `%7Bz%7D`. */
const addressOf = (typed: string) =>
  typed
    .trim()
    .replace(/^(["'`])(.*)\1$/, '$2')
    .trim()
    .replace(/(?:\$?\{|%7B)\s*([xyz])\s*(?:\}|%7D)/gi, (_, part: string) => `{${part.toLowerCase()}}`)

/** What is sent; null: no pictures. */
export const readTiles = ({ address, attribution, nearest }: TypedTiles): MapTiles | null =>
  address.trim()
    ? { address: addressOf(address), attribution: attribution.trim(), nearest_zoom: Number(nearest) }
    : null

export const sameTiles = (a: MapTiles | null | undefined, b: MapTiles | null | undefined) =>
  a?.address === b?.address && a?.attribution === b?.attribution && a?.nearest_zoom === b?.nearest_zoom
