// The journals of a rig and of a piece as one list of acts: the piece, the stand-in and the level of the rig in one line.
import { wire } from '@/api/client'
import type { HistoryItem, Id, Problem } from '@/api/types'
import {
  actsOf,
  doneWords,
  historyLine,
  levelSteps,
  sittings,
  standsFor,
  stepWords,
  tagsWords,
} from '@/words/history'
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
/** The tags of the pieces that acts were about, each once: of one act that names several, all of them. */
function tagsOf(acts: readonly HistoryItem[]): string[] {
  const ids = acts.flatMap((item) => {
    const { pieces } = item.body as { pieces?: unknown }
    const named = Array.isArray(pieces) ? pieces.filter((id): id is Id => typeof id === 'string') : []
    return [pieceOf(item) ?? [], named].flat()
  })
  return [...new Set(ids)].flatMap((id) => world.name('piece', id) ?? [])
}
/** "8 pieces checked: C-12, PU-1, S-3 and 5 more", or of one act what it was and to which piece. */
function actsWords(acts: readonly HistoryItem[], now: Date): string {
  const tags = tagsOf(acts)
  const [item] = acts
  if (!item) return ''
  if (acts.length > 1 && tags.length > 1) return `${tags.length} pieces checked: ${tagsWords(tags)}`
  return `${tags.length ? `${tagsWords(tags)}: ` : ''}${doneWords(item, now)}${placeWords(item, true)}`
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

/** What was done to a rig and to what rode on it, newest first, by the sheet of it; in pages, each of what rode on it then. */
class Aboard {
  items = $state.raw<HistoryItem[]>([])
  more = $state(false)
  problem = $state.raw<Problem | null>(null)
  loading = $state(true)
  readonly #rig: Id
  #run = 0
  /** So many acts a sheet tells. */
  static readonly PAGE = 50

  constructor(rig: Id) {
    this.#rig = rig
  }

  async load(more = false) {
    const run = ++this.#run
    // What is read here is watched by whoever asks: only who asks for more goes by what there is.
    const last = more ? this.items.at(-1) : undefined
    const query = last ? { revision: last.revision - 1 } : {}
    const reply = await wire.GET('/v1/rigs/{id}/sheet', { params: { path: { id: this.#rig }, query } })
    if (run !== this.#run) return
    this.loading = false
    // Before the rig was there nothing was done to it.
    if (!reply.ok && more && reply.problem.status === 404) return void (this.more = false)
    this.problem = reply.ok ? null : reply.problem
    if (!reply.ok) return
    const { before } = reply.data
    this.items = more ? [...this.items, ...before] : before
    this.more = before.length >= Aboard.PAGE
  }
}

/** What happened to a rig and what rides on it. */
export class RigJournal {
  readonly #own: History
  readonly #standings: History
  readonly #aboard: Aboard
  readonly #rig: Id

  constructor(rig: Id) {
    this.#rig = rig
    this.#aboard = new Aboard(rig)
    this.#own = new History('rigs', rig)
    this.#standings = new History('rig-standings', rig)
  }

  get loading() {
    return this.#own.loading || this.#standings.loading || this.#aboard.loading
  }
  get problem() {
    const { problem } = this.#standings
    // A rig that was never judged has no standing.
    return this.#own.problem ?? (problem?.status === 404 ? null : problem) ?? this.#aboard.problem
  }
  get more() {
    return this.#own.next !== null || this.#standings.next !== null || this.#aboard.more
  }
  lines(now: Date) {
    const [own, standings] = [this.#own, this.#standings]
    const read = (one: History) => ({ items: one.items, more: one.next !== null })
    const steps = levelSteps(standings.items)
    const name = world.name('rig', this.#rig) ?? 'The rig'
    return sittings(actsOf(read(own), read(standings), this.#aboard)).flatMap((acts) => {
      const [item] = acts
      if (!item) return []
      const became = acts.toReversed().flatMap(({ revision }) => {
        const step = steps.get(revision)
        return step ? [stepWords(name, step)] : []
      })
      return { ...historyLine(item, now), words: [actsWords(acts, now), ...became].join('. ') }
    })
  }
  /** `more`: what was not read yet, of the one that ends first. */
  async load(more = false) {
    const all = [this.#own, this.#standings, this.#aboard]
    if (!more) return void (await Promise.all(all.map((one) => one.load())))
    const oldest = (one: History | Aboard) => {
      const ends = one instanceof Aboard ? !one.more : one.next === null
      return ends ? 0 : (one.items.at(-1)?.revision ?? Infinity)
    }
    await all.toSorted((a, b) => oldest(b) - oldest(a))[0]?.load(true)
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
