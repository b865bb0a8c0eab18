// The journals of a rig and of a piece as one list of acts: the piece, the stand-in and the level of the rig in one line.
import type { HistoryItem, Id } from '@/api/types'
import { actsOf, doneWords, historyLine, levelSteps, standsFor, stepWords } from '@/words/history'
import { History } from './history.svelte'
import { world } from './world.svelte'

/** The piece that an act was about, as far as its body names it and this device knows it. */
function pieceOf({ kind, body }: HistoryItem): Id | undefined {
  const { id, piece } = body as { id?: Id; piece?: Id }
  const noun = kind.split('.')[0]
  if (noun === 'piece') return id
  if (piece) return piece
  if (noun === 'defect' || noun === 'swap' || noun === 'ticket') return world.get(noun, id)?.piece
  return undefined
}
/** " (Engine 4, for C-12)" beside the act that put a stand-in aboard. */
function placeWords(item: HistoryItem, ownRig: boolean): string {
  const { rig, piece } = standsFor(item)
  const parts = [
    rig && !ownRig ? (world.name('rig', rig) ?? 'a rig') : '',
    piece ? `for ${world.name('piece', piece) ?? 'a piece'}` : '',
  ].filter(Boolean)
  return parts.length ? ` (${parts.join(', ')})` : ''
}

/** What happened to a rig and what rides on it. */
export class RigJournal {
  readonly #own: History
  readonly #standings: History
  readonly #rig: Id

  constructor(rig: Id) {
    this.#rig = rig
    this.#own = new History('rigs', rig)
    this.#standings = new History('rig-standings', rig)
  }

  get loading() {
    return this.#own.loading || this.#standings.loading
  }
  get problem() {
    const { problem } = this.#standings
    // A rig that was never judged has no standing.
    return this.#own.problem ?? (problem?.status === 404 ? null : problem)
  }
  get more() {
    return this.#own.next !== null || this.#standings.next !== null
  }
  lines(now: Date) {
    const [own, standings] = [this.#own, this.#standings]
    const read = (one: History) => ({ items: one.items, more: one.next !== null })
    const steps = levelSteps(standings.items)
    const name = world.name('rig', this.#rig) ?? 'The rig'
    return actsOf(read(own), read(standings)).map((item) => {
      const tag = world.name('piece', pieceOf(item))
      const step = steps.get(item.revision)
      const done = `${tag ? `${tag}: ` : ''}${doneWords(item, now)}${placeWords(item, true)}`
      return { ...historyLine(item, now), words: step ? `${done}. ${stepWords(name, step)}` : done }
    })
  }
  /** `more`: what was not read yet, of the one that ends first. */
  async load(more = false) {
    if (!more) return void (await Promise.all([this.#own.load(), this.#standings.load()]))
    const oldest = (one: History) => (one.next === null ? 0 : (one.items.at(-1)?.revision ?? Infinity))
    const first = oldest(this.#own) > oldest(this.#standings) ? this.#own : this.#standings
    await first.load(true)
  }
}

/** What happened to a piece, with what each act made of the rig that it rode on. */
export class PieceJournal {
  readonly #own: History
  #standings = $state.raw<ReadonlyMap<Id, History>>(new Map())
  /** Rigs whose levels are read: the piece rode on them last. */
  static readonly MOST_RIGS = 2

  constructor(piece: Id) {
    this.#own = new History('pieces', piece)
  }

  get items() {
    return this.#own.items
  }
  get loading() {
    return this.#own.loading
  }
  get problem() {
    return this.#own.problem
  }
  get more() {
    return this.#own.next !== null
  }
  line(item: HistoryItem, now: Date) {
    const became = [...this.#standings].flatMap(([id, history]) => {
      const step = levelSteps(history.items).get(item.revision)
      return step ? [stepWords(world.name('rig', id) ?? 'The rig', step)] : []
    })
    const done = `${doneWords(item, now)}${placeWords(item, false)}`
    return { ...historyLine(item, now), words: [done, ...became].join('. ') }
  }
  async load(more = false) {
    await this.#own.load(more)
    const rode = this.#own.items.flatMap(({ record }) => {
      const { place } = record as { place?: { at?: string; rig?: Id } }
      return place?.at === 'rig' && place.rig ? [place.rig] : []
    })
    const rigs = [...new Set(rode)].slice(0, PieceJournal.MOST_RIGS)
    this.#standings = new Map(
      rigs.map((rig) => [rig, this.#standings.get(rig) ?? new History('rig-standings', rig)]),
    )
    await Promise.all([...this.#standings.values()].map((history) => history.load()))
  }
}
