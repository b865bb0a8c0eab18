// Pictures of the map in squares, from the service's own address. What has come is kept for a while, so that it is there at once where
// the view comes back to it, and on paper, where nothing can be waited for.
import { GridLayer, type Coords, type DoneCallback, type GridLayerOptions } from 'leaflet'

/** Asks for one, by its path. */
export type AskPicture = (path: string, signal: AbortSignal) => Promise<Blob>

/** So many are kept: about two screens. */
const KEPT = 120

export class Pictures extends GridLayer {
  declare options: GridLayerOptions
  readonly #came = new Map<string, HTMLImageElement>()
  readonly #asking = new WeakMap<HTMLElement, AbortController>()

  constructor(
    private readonly nearest: number,
    private readonly ask: AskPicture,
  ) {
    super({ maxNativeZoom: nearest, updateWhenIdle: true, updateWhenZooming: false })
    this.on('tileunload', ({ tile }) => this.#asking.get(tile)?.abort())
  }

  protected override createTile({ z, x, y }: Coords, done: DoneCallback): HTMLElement {
    const path = `/v1/map-tiles/${z}/${x}/${y}`
    const kept = this.#came.get(path)
    if (kept && !kept.parentNode) {
      queueMicrotask(() => done(undefined, kept))
      return kept
    }
    const tile = document.createElement('img')
    tile.alt = ''
    const stop = new AbortController()
    this.#asking.set(tile, stop)
    this.#comes(tile, path, stop.signal).then(
      () => done(undefined, tile),
      // What went out of sight is missed by nobody.
      (fault: unknown) => stop.signal.aborted || done(fault as Error, tile),
    )
    return tile
  }
  async #comes(tile: HTMLImageElement, path: string, signal: AbortSignal) {
    const url = URL.createObjectURL(await this.ask(path, signal))
    try {
      tile.src = url
      await tile.decode()
    } finally {
      URL.revokeObjectURL(url)
    }
    this.#came.delete(path)
    this.#came.set(path, tile)
    const [oldest] = this.#came.keys()
    if (oldest !== undefined && this.#came.size > KEPT) this.#came.delete(oldest)
  }

  /** On paper the squares stay those of the screen: others would come too late. */
  holds(on: boolean, zoom: number) {
    const at = Math.min(this.nearest, Math.round(zoom))
    this.options.minNativeZoom = on ? at : 0
    this.options.maxNativeZoom = on ? at : this.nearest
  }
}
