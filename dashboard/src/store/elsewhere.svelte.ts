// A piece that this phone does not keep, as the server answers for it while there is signal: crews are detailed to other houses.
// What was answered stays for as long as the app is open, so that a report goes on where the signal ends.
import { wire } from '@/api/client'
import type { Defect, Id, Piece, PieceStanding, Place, Problem, Rig, RigStanding, Station } from '@/api/types'
import { placeWords } from '@/words/place'
import { verdictMark } from '@/words/verdict'
import type { MarkWords } from '@/words/marks'
import { now } from '@/ui/tick.svelte'
import { seePiece, seeRig, type SeenRig } from './foresee'
import { defectsOf } from './look'
import { pieceMark, seen, stopped } from './seen.svelte'
import { session } from './session.svelte'
import { world } from './world.svelte'

/** Whose a place is: the rig's station, the shelf's, or that of where it goes. */
export function houseOf(place: Place | null | undefined, rig: Pick<Rig, 'id' | 'station'> | null): Id | null {
  if (place?.at === 'transit') return houseOf(place.to, rig)
  if (place?.at === 'rig') return rig?.id === place.rig ? rig.station : null
  return place?.at === 'shelf' ? place.station : null
}
const rigIn = (place: Place | null | undefined): Id | null =>
  place?.at === 'transit' ? rigIn(place.to) : place?.at === 'rig' ? place.rig : null

/** Whose a piece is where it is now; of one that is at no station, whose its home is. A rig that is not known is not guessed. */
const ownerOf = ({ place, home }: Partial<Piece>, rig: Pick<Rig, 'id' | 'station'> | null): Id | null =>
  houseOf(place, rig) ?? (rigIn(place) ? null : houseOf(home, rig))

/** What the server answered, with what waits on this phone beside it. */
export function withWaiting(answered: Defect[], waiting: Defect[]): Defect[] {
  const told = new Set(answered.map((one) => one.id))
  return [...answered, ...waiting.filter((one) => !told.has(one.id))]
}

export class Elsewhere {
  piece = $state.raw<Piece | null>(null)
  standing = $state.raw<PieceStanding | null>(null)
  /** The rig that it rides on or goes to, and what the server says of it. */
  rig = $state.raw<Rig | null>(null)
  rigStanding = $state.raw<RigStanding | null>(null)
  problem = $state.raw<Problem | null>(null)
  asking = $state(false)
  /** When the server answered last. */
  at = $state<string | null>(null)
  #defects = $state.raw<Defect[]>([])
  #station = $state.raw<Station | null>(null)
  #turn = 0

  constructor(readonly id: Id) {}

  /** Its defects, those too that wait on this phone. */
  get defects(): Defect[] {
    return withWaiting(this.#defects, defectsOf(this.id))
  }
  /** The station whose officer is told; empty where it is not known. */
  get house(): string {
    const id = ownerOf(this.piece ?? {}, this.rig)
    return world.get('station', id)?.name ?? (this.#station?.id === id ? this.#station?.name : '') ?? ''
  }
  /** What the server said of its rig: nothing on this phone speaks against that. */
  get seenRig(): SeenRig {
    return seeRig(this.rigStanding ?? undefined, undefined, () => undefined, now())
  }

  where(place: Place | null | undefined): string {
    return placeWords(place, {
      rig: (id) => world.name('rig', id) ?? (this.rig?.id === id ? this.rig.name : undefined),
      station: (id) =>
        world.get('station', id)?.name ?? (this.#station?.id === id ? this.#station.name : undefined),
      shop: (id) => world.get('shop', id)?.name,
    })
  }

  /** Asks the server; true: this answer is what is shown now. What was answered before stays where no answer comes; of what is answered
   *  anew nothing old is shown. */
  async fetch(): Promise<boolean> {
    const turn = ++this.#turn
    const { id } = this
    this.asking = true
    const [piece, defects, standing] = await Promise.all([
      wire.any<Piece>('GET', `/v1/pieces/${id}`),
      wire.any<{ items: Defect[] }>('GET', '/v1/defects', { params: { query: { parent: id } } }),
      wire.any<PieceStanding>('GET', `/v1/piece-standings/${id}`),
    ])
    const place = piece.ok ? (piece.data.place ?? null) : null
    const on = rigIn(place)
    const [rig, level] = on
      ? await Promise.all([
          wire.any<Rig>('GET', `/v1/rigs/${on}`),
          wire.any<RigStanding>('GET', `/v1/rig-standings/${on}`),
        ])
      : [null, null]
    const at = piece.ok ? ownerOf(piece.data, rig?.ok ? rig.data : null) : null
    const station =
      at && !world.get('station', at) ? await wire.any<Station>('GET', `/v1/stations/${at}`) : null
    if (turn !== this.#turn) return false
    this.asking = false
    this.problem = piece.ok ? null : piece.problem
    if (!piece.ok) {
      if (piece.problem.status === 404) this.piece = null
      return false
    }
    this.piece = piece.data
    this.standing = standing.ok ? standing.data : null
    if (defects.ok) this.#defects = defects.data.items
    this.rig = rig?.ok ? rig.data : null
    this.rigStanding = level?.ok ? level.data : null
    this.#station = station?.ok ? station.data : null
    this.at = new Date().toISOString()
    return true
  }
}

const MOST = 8
let owner = ''
const kept = new Map<Id, Elsewhere>()
/** The same for each screen of a piece, so that one goes on with what another was answered; another member starts from nothing. */
export function elsewhere(id: Id): Elsewhere {
  if (owner !== session.owner) kept.clear()
  owner = session.owner
  const one = kept.get(id) ?? new Elsewhere(id)
  kept.delete(id)
  kept.set(id, one)
  for (const old of kept.keys()) if (kept.size > MOST) kept.delete(old)
  return one
}

/** The answer as a word and a shape, for a piece that the server was asked about; what waits on this phone speaks first. */
export function markThere(piece: Piece, asked: PieceStanding | null | undefined): MarkWords {
  if (!asked || piece.state === 'retired' || seen.piece(piece.id).verdict) return pieceMark(piece)
  const it = seePiece(piece.id, asked, { unusable: new Map(), pieces: new Set() }, now())
  const mark = verdictMark(it.verdict)
  if (it.counted || it.verdict === 'no') return mark
  return { shape: 'held', tone: 'quiet', word: `${mark.word}, not counted yet` }
}
/** Whether the answer is a no: what this phone knows, or else what the server answered. */
export const stoppedThere = (piece: Piece | undefined, asked: PieceStanding | null | undefined): boolean =>
  stopped(piece) || asked?.verdict === 'no'
