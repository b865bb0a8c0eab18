// Something that is dragged with mouse, pen or finger onto a seat of the picture, and follows the pointer meanwhile.
/** So far the pointer moves before it is a drag and no press. */
const SLACK = 6
/** So near to the edge of the window the page moves along. */
const EDGE = 90

export class Carried {
  /** What is dragged. */
  key = $state('')
  /** The seat that it is over. */
  seat = $state('')
  x = $state(0)
  y = $state(0)
  #from: { key: string; x: number; y: number; pointer: number } | null = null
  #drop: (key: string, seat: string) => void

  constructor(drop: (key: string, seat: string) => void) {
    this.#drop = drop
  }

  /** A finger drags by the grip only, so that the page still scrolls under it. */
  down(event: PointerEvent, key: string) {
    const gripped = event.target instanceof Element && event.target.closest('[data-grip]')
    if (event.button !== 0 || (event.pointerType === 'touch' && !gripped)) return
    this.#from = { key, x: event.clientX, y: event.clientY, pointer: event.pointerId }
  }
  move(event: PointerEvent) {
    const from = this.#from
    if (!from || event.pointerId !== from.pointer) return
    const [x, y] = [event.clientX, event.clientY]
    if (!this.key) {
      if (Math.hypot(x - from.x, y - from.y) < SLACK) return
      this.key = from.key
      if (event.currentTarget instanceof Element) event.currentTarget.setPointerCapture(from.pointer)
    }
    this.x = x
    this.y = y
    this.seat = seatAt(x, y)
    if (y < EDGE) scrollBy(0, -14)
    else if (y > innerHeight - EDGE) scrollBy(0, 14)
  }
  /** Whether it was a drag: then the press that ends it is none. */
  up(): boolean {
    const { key, seat } = this
    this.stop()
    if (key && seat) this.#drop(key, seat)
    return Boolean(key)
  }
  stop() {
    this.#from = null
    this.key = ''
    this.seat = ''
  }
}

const seatAt = (x: number, y: number) =>
  document
    .elementsFromPoint(x, y)
    .map((one) => one.closest<HTMLElement>('[data-seat]')?.dataset['seat'])
    .find(Boolean) ?? ''

export const carried = (drop: (key: string, seat: string) => void) => new Carried(drop)
