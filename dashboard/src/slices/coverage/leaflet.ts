// What the map lies on: Leaflet, with pictures of the area only where the agency names a server for them. The wheel and one finger
// belong to the page until the map was pressed; two fingers, the mouse and the keys move it at once.
import 'leaflet/dist/leaflet.css'
import type { FeatureCollection } from 'geojson'
import { Browser, control, geoJSON, LatLngBounds, Map as Leaflet, svg, type LatLngTuple } from 'leaflet'
import { Pictures, type AskPicture } from './pictures'

export const NEAREST = 18
/** Of a single place there is nothing to see nearer. */
const NEAREST_WHOLE = 14
const MARGIN = 34
/** On paper, pixels: as wide as A4 and Letter leave it. */
const PAPER = { width: 640, height: 440 }

export class Ground {
  readonly map: Leaflet
  #moved = false
  #own = 0
  #places: LatLngTuple[] = []
  #beforePaper: LatLngBounds | null = null
  #pictures: Pictures | null = null

  constructor(
    private readonly node: HTMLElement,
    onview: () => void,
  ) {
    const thumb = Browser.touch && matchMedia('(pointer: coarse)').matches
    this.map = new Leaflet(node, {
      attributionControl: false,
      zoomControl: false,
      zoomAnimation: false,
      fadeAnimation: false,
      zoomSnap: 0.25,
      maxZoom: NEAREST,
      // A second press at the same spot takes the next mark there.
      doubleClickZoom: false,
      scrollWheelZoom: false,
      dragging: !thumb,
      inertia: !matchMedia('(prefers-reduced-motion: reduce)').matches,
    })
    this.map.setView([0, 0], 1)
    this.map.on('zoom viewreset moveend', () => {
      if (!this.#own) this.#moved = true
      onview()
    })
    this.map.on('zoomlevelschange', onview)
    const mine = () => {
      this.map.scrollWheelZoom.enable()
      this.map.dragging.enable()
    }
    const others = (event: FocusEvent) => {
      if (node.contains(event.relatedTarget as Node | null)) return
      this.map.scrollWheelZoom.disable()
      if (thumb) this.map.dragging.disable()
    }
    node.addEventListener('focusin', mine)
    node.addEventListener('focusout', others)
  }

  /** The places that the whole area is made of; it is shown until somebody moves the map. */
  shows(places: LatLngTuple[]) {
    this.#places = places
    if (!this.#moved) this.whole()
  }
  whole() {
    this.#quietly(() => {
      if (!this.#places.length) return
      this.map.setMinZoom(0)
      this.#fit(new LatLngBounds(this.#places))
      this.map.setMinZoom(this.map.getZoom() - 1)
    })
    this.#moved = false
  }
  #fit(bounds: LatLngBounds) {
    this.map.fitBounds(bounds, { padding: [MARGIN, MARGIN], maxZoom: NEAREST_WHOLE, animate: false })
  }

  /** Comes so near that what lies together falls apart. */
  opens(places: LatLngTuple[], least: number) {
    const bounds = new LatLngBounds(places)
    const fits = this.map.getBoundsZoom(bounds.pad(0.2))
    this.map.setView(bounds.getCenter(), Math.min(NEAREST, Math.max(least, fits)), { animate: false })
  }
  /** Around what is chosen, where that is in sight. */
  zoomBy(step: number, chosen?: LatLngTuple) {
    const zoom = this.map.getZoom() + step
    if (chosen && step > 0) this.map.setView(chosen, zoom, { animate: false })
    else this.map.setZoom(zoom, { animate: false })
  }
  /** Brings a place into sight that is not. */
  toSight(place: LatLngTuple) {
    this.#quietly(() => this.map.panInside(place, { padding: [MARGIN, MARGIN], animate: false }))
  }
  /** The room has another size. */
  fits() {
    this.#quietly(() => this.map.invalidateSize({ animate: false }))
    if (!this.#moved) this.whole()
  }
  /** Paper has a width of its own; what was in sight stays so. */
  onPaper(on: boolean) {
    const { style } = this.node
    if (on) this.#beforePaper = this.map.getBounds()
    this.#pictures?.holds(on, this.map.getZoom())
    style.width = on ? `${PAPER.width}px` : ''
    style.height = on ? `${PAPER.height}px` : ''
    this.#quietly(() => {
      this.map.invalidateSize({ animate: false })
      if (this.#moved && this.#beforePaper) this.map.fitBounds(this.#beforePaper, { animate: false })
    })
    if (!this.#moved) this.whole()
  }
  /** A bar of a round length, in the agency's units. */
  scale(units: 'us' | 'si'): () => void {
    const bar = control.scale({ imperial: units === 'us', metric: units === 'si', maxWidth: 150 })
    bar.addTo(this.map)
    return () => bar.remove()
  }
  /** Lines beneath the marks: areas as boundaries, lines as roads. */
  draws(layers: FeatureCollection[]): () => void {
    const renderer = svg({ padding: 0.5 })
    const drawn = layers.map((lines) =>
      geoJSON(lines, {
        interactive: false,
        style: (one) => ({
          renderer,
          fill: false,
          className: one?.geometry.type.endsWith('Polygon') ? 'own boundary' : 'own',
        }),
      }).addTo(this.map),
    )
    return () => {
      for (const one of drawn) one.remove()
      renderer.remove()
    }
  }
  /** Pictures of the area beneath everything. Told is whether some of those in sight did not come. */
  pictures(nearest: number, ask: AskPicture, onmissing: (some: boolean) => void): () => void {
    const layer = new Pictures(nearest, ask)
    let missing = false
    layer.on('loading', () => (missing = false))
    layer.on('tileerror', () => onmissing((missing = true)))
    layer.on('load', () => onmissing(missing))
    layer.addTo(this.map)
    this.#pictures = layer
    return () => {
      layer.remove()
      this.#pictures = null
    }
  }
  /** What moves the map by itself is not somebody's hand. */
  #quietly(change: () => void) {
    this.#own++
    change()
    this.#own--
  }
}
