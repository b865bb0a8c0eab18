// What the hook-up of a rig shows and does: its parts, the spares that would fit, and one of them held against a seat. What a spare
// would do is the server's answer.
import type { Gap, Id, Piece, Remedy, RemedyCandidate, Rig, Slot } from '@/api/types'
import type { HookupDesk, PartFacts, Spare, Trying } from '@/ui/picture/desk'
import type { Seat } from '@/ui/picture/parts'
import { now } from '@/ui/tick.svelte'
import { gapWords } from '@/words/gap'
import { severityMark } from '@/words/marks'
import { kindWord } from '@/words/piece'
import { problemTitle } from '@/words/problems'
import { becomesMark } from '@/words/remedy'
import { said } from '@/words/said'
import { moment, spoken } from '@/words/time'
import { distance } from '@/words/units'
import { verdictWords } from '@/words/verdict'
import { apartWords } from './apart'
import { Asked } from './asked.svelte'
import { Foreshown } from './effects.svelte'
import { feed } from './feed.svelte'
import { modelName, openDefects, openSwaps, slotsOf } from './look'
import { pictureOf, seatedOn, whereaboutsWords } from './picture'
import { pieceMark, stopped } from './seen.svelte'
import { session } from './session.svelte'
import { StandIn, type Meant } from './standin.svelte'
import { world } from './world.svelte'

/** More are on the swap screen. */
const MOST = 6

export class RigHookup implements HookupDesk {
  readonly #id: () => Id
  readonly #asked = new Asked<{ items: Remedy[] }>()
  readonly #effects = new Foreshown()
  readonly #standIn = new StandIn()
  #held = $state.raw<{ one: RemedyCandidate; seat: string; driving: boolean } | null>(null)

  readonly #rig = $derived.by((): Rig | undefined => world.get('rig', this.#id()))
  readonly #standing = $derived.by(() => world.get('rig_standing', this.#id()))
  readonly #gaps = $derived.by((): Gap[] => this.#standing?.gaps ?? [])
  readonly #offered = $derived.by(() => this.#offers())
  readonly model = $derived.by(() => pictureOf(this.#rig, this.#standing, true))

  /** Made while a component is: it asks as long as that is there. */
  constructor(id: () => Id) {
    this.#id = id
    // Asks again whenever the rig's answer changes: somebody else may have taken the nearest one.
    $effect(() => {
      void this.#standing?.rev
      const open = this.#gaps.length && session.may('swap.start') && feed.link !== 'off'
      if (open) void this.#asked.look(`/v1/rigs/${this.#id()}/remedies`)
      else this.#asked.data = null
      return () => this.#asked.stop()
    })
    $effect(() => () => {
      this.#effects.stop()
      this.#standIn.act.conflict?.leave()
    })
  }

  get label() {
    return `Hook-up of ${this.#rig?.name ?? 'the rig'}`
  }
  get all() {
    return `/rigs/${this.#id()}/swap`
  }
  get note() {
    if (!this.#gaps.length || !session.may('swap.start')) return ''
    if (feed.link === 'off') return 'No signal: only the server knows which spares would fit.'
    if (this.#asked.problem)
      return `No answer on which spares would fit: ${problemTitle(this.#asked.problem)}`
    return ''
  }

  #slot(key: string): Slot | undefined {
    return slotsOf(this.#rig).find((slot) => slot.id === key)
  }
  #pieceAt(seat: string): Piece | undefined {
    return world.get('piece', seatedOn(this.#id()).get(seat) ?? seat)
  }
  /** What is open at a seat: what the grade misses before what the list does. */
  #gapsAt({ key }: Seat): Gap[] {
    const slot = this.#slot(key)
    if (!slot) return this.#gaps.filter((gap) => `need-${gap.id}` === key)
    const alike = (gap: Gap) => gap.id === key || gap.kinds.join() === slot.kinds.join()
    return [
      ...this.#gaps.filter((gap) => gap.in === 'need' && gap.kinds.some((kind) => slot.kinds.includes(kind))),
      ...this.#gaps.filter((gap) => gap.in === 'slot' && alike(gap)),
    ]
  }

  /** In the order of the server, each with the seats that it would fit. */
  #offers(): { one: RemedyCandidate; gaps: Map<string, Gap> }[] {
    const offers = new Map<Id, { one: RemedyCandidate; gaps: Map<string, Gap> }>()
    if (feed.link === 'off') return []
    for (const seat of this.model.seats) {
      if (seat.state === 'counted' || seat.state === 'limit') continue
      const kinds = this.#slot(seat.key)?.kinds
      for (const gap of this.#gapsAt(seat)) {
        const remedy = this.#asked.data?.items.find((one) => one.in === gap.in && one.id === gap.id)
        if (remedy?.candidates.some((one) => one.on_its_way)) break
        for (const one of remedy?.candidates ?? []) {
          if (!one.ready || (kinds && !kinds.includes(one.kind))) continue
          const known = offers.get(one.piece) ?? { one, gaps: new Map<string, Gap>() }
          if (!known.gaps.has(seat.key)) known.gaps.set(seat.key, gap)
          offers.set(one.piece, known)
        }
      }
    }
    return [...offers.values()]
  }
  get spares(): Spare[] {
    return this.#offered.slice(0, MOST).map(({ one, gaps }) => ({
      key: one.piece,
      tag: one.tag,
      glyph: one.kind,
      what: world.get('model', one.model)?.name ?? kindWord(one.kind),
      where: `${one.where}, ${distance(one.distance_km, session.units)}`,
      leaves: one.leaves ?? '',
      seats: [...gaps.keys()],
    }))
  }

  part(key: string): PartFacts | undefined {
    const seat = this.model.seats.find((one) => one.key === key)
    if (!seat) return undefined
    const piece = seat.state === 'empty' ? undefined : this.#pieceAt(key)
    const gap = seat.state === 'counted' ? undefined : this.#gapsAt(seat)[0]
    const open = gap ? [`Open because: ${gapWords(gap, (id) => world.get('piece', id), now())}`] : []
    if (!piece)
      return { title: seat.title, mark: undefined, lines: [seat.why ?? '', ...open], defects: [], acts: [] }
    return {
      title: `${seat.title} ${piece.tag}`,
      mark: pieceMark(piece),
      lines: this.#linesOf(piece, seat).filter(Boolean),
      defects: openDefects(piece.id).map((defect) => ({
        key: defect.id,
        mark: severityMark(defect.severity, stopped(piece)),
        text: `${said(defect.what)}, seen ${moment(defect.seen_at, now())}`,
      })),
      acts: this.#actsOf(piece),
    }
  }
  #linesOf(piece: Piece, seat: Seat): string[] {
    const standing = world.get('piece_standing', piece.id)
    const swap = openSwaps(this.#id()).find((one) => one.piece === piece.id)
    const other = world.get('piece', swap?.stands_in_for)
    return [
      `${kindWord(piece.kind)}, ${modelName(piece)}`,
      apartWords(piece),
      standing ? verdictWords(standing, piece, now(), openDefects(piece.id)) : '',
      seat.state === 'away' ? whereaboutsWords(piece) : (seat.why ?? ''),
      swap ? `A stand-in since ${moment(swap.started_at, now())}` : '',
      other ? `In the place of ${other.tag}: ${whereaboutsWords(other)}` : '',
    ]
  }
  #actsOf({ id }: Piece): PartFacts['acts'] {
    return [
      ...(session.may('defect.report')
        ? [{ href: `/pieces/${id}/report`, words: 'Report a defect on it', strong: true }]
        : []),
      ...(session.may('check.record') ? [{ href: `/pieces/${id}/check`, words: 'Check it' }] : []),
      { href: `/pieces/${id}`, words: 'Its page' },
    ]
  }

  hold(spare: string, seat: string) {
    const offer = this.#offered.find(({ one }) => one.piece === spare)
    if (!offer?.gaps.has(seat)) return
    this.#standIn.act.clear()
    const { one } = offer
    // What lies at the rig's own station is there; anything else has to be driven over first.
    this.#held = { one, seat, driving: one.station !== this.#rig?.station }
    // What it does is asked as of when it has arrived: until then it counts nowhere.
    const meant = this.#meant()
    if (meant) void this.#effects.ask([this.#standIn.write(this.#id(), { ...meant, driving: false })])
  }
  #meant(): Meant | null {
    if (!this.#held) return null
    const { one, seat, driving } = this.#held
    const sat = this.#pieceAt(seat)
    return {
      one,
      driving,
      gap: this.#offered.find((offer) => offer.one.piece === one.piece)?.gaps.get(seat),
      gaps: this.#gaps,
      slot: this.#slot(seat)?.id,
      missing: sat?.kind === one.kind ? sat.id : undefined,
    }
  }
  get trying(): Trying | null {
    if (!this.#held) return null
    const { one, seat, driving } = this.#held
    const name = this.#rig?.name ?? 'the rig'
    const title = this.model.seats.find((at) => at.key === seat)?.title
    return {
      title: `${one.tag} as ${title ?? kindWord(one.kind)} of ${name}`,
      about: [
        `${world.get('model', one.model)?.name ?? ''}: ${one.where}, ${distance(one.distance_km, session.units)}`,
        [spoken(one.state, now()), one.call].filter(Boolean).join('; '),
      ].filter(Boolean),
      becomes: becomesMark(one, name, this.#standing?.level),
      driving,
      leaves: one.leaves ?? '',
      effect: this.#effects.box,
      act: this.#standIn.act,
    }
  }
  drive(on: boolean) {
    if (this.#held) this.#held = { ...this.#held, driving: on }
  }
  leave() {
    this.#effects.clear()
    this.#standIn.act.conflict?.leave()
    this.#held = null
  }
  commit() {
    const meant = this.#meant()
    if (meant && this.#rig) void this.#standIn.start(this.#rig, meant, () => this.leave())
  }
}
