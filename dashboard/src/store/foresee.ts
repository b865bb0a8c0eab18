// What this phone foresees of acts that still wait on it. It is the one place where the phone says anything ahead of the
// server, and it only ever says less: a piece is taken away, never given back, and a level is never raised. Its cases stand in
// foresee.cases.json, so that they can be held against the server too.
import type { Id, Kind, Level, PieceStanding, RigStanding, Verdict } from '@/api/types'
import { levelWord } from '@/words/level'
import { kindWord } from '@/words/piece'
import { moment } from '@/words/time'

export interface WaitingAct {
  kind: string
  body: Record<string, unknown>
}
/** A piece as the server had it, before the acts that wait. */
export interface PieceFacts {
  id: Id
  tag: string
  kind: Kind
  /** The rig that it rides on. */
  rig: Id | null
  /** The rig that it is on its way to. */
  bound: Id | null
  /** Has fluid in it that is shared: a mix spoils it. */
  wet: boolean
}
export interface Facts {
  piece(id: Id): PieceFacts | undefined
  /** The piece that a defect, ticket or swap is about. */
  about(noun: 'defect' | 'ticket' | 'swap', id: Id): Id | undefined
  aboard(rig: Id): PieceFacts[]
  /** The step that a waiting check plainly says is not sound; empty where it says none. */
  failed(body: Record<string, unknown>): string
}

export interface RigAhead {
  /** Pieces that the rig loses, each with why. */
  lost: Map<Id, string>
  /** The rig as a whole is taken away: why. */
  out: string | null
}
export interface Ahead {
  /** Pieces that must not be taken for usable, each with why. */
  unusable: Map<Id, string>
  /** Every piece that something waits about. */
  pieces: Set<Id>
  rigs: Map<Id, RigAhead>
}

const text = (value: unknown) => (typeof value === 'string' ? value : '')

export function foresee(acts: readonly WaitingAct[], facts: Facts): Ahead {
  const ahead: Ahead = { unusable: new Map(), pieces: new Set(), rigs: new Map() }
  const rig = (id: Id): RigAhead => {
    const known = ahead.rigs.get(id) ?? { lost: new Map<Id, string>(), out: null }
    ahead.rigs.set(id, known)
    return known
  }
  const touch = (id: Id) => {
    if (!id) return undefined
    ahead.pieces.add(id)
    const piece = facts.piece(id)
    for (const at of [piece?.rig, piece?.bound]) if (at) rig(at)
    return piece
  }
  const leave = (id: Id, why: string) => {
    const piece = touch(id)
    if (piece?.rig && !rig(piece.rig).lost.has(id)) rig(piece.rig).lost.set(id, why)
  }
  const stop = (id: Id, why: string) => {
    leave(id, why)
    if (!ahead.unusable.has(id)) ahead.unusable.set(id, why)
  }
  const mixed = (id: Id) => {
    const at = facts.piece(id)?.rig
    if (at)
      for (const one of facts.aboard(at)) if (one.wet) stop(one.id, 'held since fluids were mixed aboard')
  }

  for (const { kind, body } of acts) {
    const noun = kind.split('.')[0] ?? ''
    const id = text(body['id'])
    const piece = noun === 'piece' ? id : text(body['piece'])
    const about =
      noun === 'defect' || noun === 'ticket' || noun === 'swap' ? facts.about(noun, id) : undefined
    touch(piece)
    touch(about ?? '')
    for (const one of Array.isArray(body['pieces']) ? body['pieces'] : []) touch(text(one))
    for (const one of [noun === 'rig' ? id : '', text(body['rig'])]) if (one) rig(one)
    switch (kind) {
      case 'defect.report':
        if (body['severity'] !== 'usable') stop(piece, 'reported out of service')
        if (body['class'] === 'fluid_mix') mixed(piece)
        break
      case 'defect.note':
        if (body['severity'] === 'out_of_service') stop(about ?? '', 'reported out of service')
        if (body['class'] === 'fluid_mix') mixed(about ?? '')
        break
      case 'check.record': {
        const title = facts.failed(body)
        if (title) stop(piece, `not passed: ${title}`)
        break
      }
      case 'piece.take_out':
        stop(id, 'taken out of service')
        break
      case 'piece.report_missing':
        stop(id, 'reported missing')
        break
      case 'piece.retire':
        stop(id, 'retired')
        break
      case 'piece.move':
        leave(id, 'moved')
        arrives((body['to'] as { rig?: Id } | undefined)?.rig)
        break
      case 'swap.start':
        leave(piece, 'taken as a stand-in elsewhere')
        break
      case 'swap.end':
        leave(about ?? '', 'its stand-in ends')
        break
      case 'rig.take_out':
        rig(id).out = 'the rig is taken out of service'
        break
      case 'rig.exchange':
        rig(text(body['from']) || id).out = 'its pieces move to another rig'
        arrives(text(body['to']))
        break
    }
  }
  return ahead

  /** What comes aboard is counted by the server alone; the rig is only marked. */
  function arrives(at: Id | undefined) {
    if (at) rig(at)
  }
}

export interface SeenRig {
  level: Level | undefined
  /** False while the answer is not to be counted: say so, beside the last known level. */
  counted: boolean
  /** True when what waits takes the level away. */
  lowered: boolean
  /** Why it is not counted; empty when it is. */
  words: string
}

export function seeRig(
  standing:
    | Pick<RigStanding, 'level' | 'margin' | 'critical' | 'needs' | 'holds_until' | 'pending' | 'known'>
    | undefined,
  ahead: RigAhead | undefined,
  piece: (id: Id) => PieceFacts | undefined,
  now: Date,
): SeenRig {
  const level = standing?.level
  if (!standing || !level || level === 'not_judged')
    return { level, counted: standing !== undefined && !ahead, lowered: false, words: ahead ? WAITS : '' }
  const cause = ahead && level !== 'none' ? losing(standing, ahead, piece) : null
  if (cause) {
    const words = `Not ${levelWord(level).toLowerCase()} while this waits: ${cause}`
    return { level, counted: false, lowered: true, words }
  }
  if (ahead) return { level, counted: false, lowered: false, words: WAITS }
  return { level, ...lapse(standing, now), lowered: false }
}

const WAITS = 'Not counted yet: something waits on this phone'

/** What takes the level away, or null where the server's own answer says that it stands without it. */
function losing(
  standing: Pick<RigStanding, 'margin' | 'critical' | 'needs'>,
  ahead: RigAhead,
  piece: (id: Id) => PieceFacts | undefined,
): string | null {
  if (ahead.out) return ahead.out
  const named = (id: Id) => {
    const one = piece(id)
    return `${one ? `${kindWord(one.kind).toLowerCase()} ${one.tag}` : 'a piece'} ${ahead.lost.get(id) ?? ''}`.trim()
  }
  const lost = [...ahead.lost.keys()]
  const critical = lost.filter((id) => standing.critical.includes(id))
  if (critical.length) return critical.map(named).join(', ')
  const rests = restsOn(standing.needs)
  const felt = lost.filter((id) => rests.has(id))
  // The margin holds for any pieces, and a single one that is not critical drops nothing. Beyond that nobody has looked.
  const spare = standing.margin === null ? 0 : Math.max(1, standing.margin)
  if (lost.length <= spare || !felt.length) return null
  return felt.map(named).join(', ')
}

/** Tools, sources, hoses, adapters and packs that the needs rest on. */
function restsOn(needs: RigStanding['needs']): Set<Id> {
  const all = new Set<Id>()
  for (const { pieces } of needs)
    for (const { piece, via } of pieces) {
      all.add(piece)
      if (via?.by === 'line') for (const id of [via.source, ...via.parts]) all.add(id)
      if (via?.by === 'pack') all.add(via.pack)
    }
  return all
}

function lapse(
  standing: { holds_until: string | null; pending: boolean; known: boolean },
  now: Date,
): { counted: boolean; words: string } {
  if (standing.holds_until && Date.parse(standing.holds_until) <= now.getTime())
    return { counted: false, words: `Not counted yet: judged until ${moment(standing.holds_until, now)}` }
  if (standing.pending) return { counted: false, words: 'Not counted yet: being judged anew' }
  if (!standing.known)
    return { counted: false, words: 'Not counted yet: what ran out meanwhile is being settled' }
  return { counted: true, words: '' }
}

export interface SeenPiece {
  verdict: Verdict | undefined
  counted: boolean
  /** Why it is not counted, or what takes it away; empty where the record's own words hold. */
  words: string
}

export function seePiece(
  id: Id,
  standing: Pick<PieceStanding, 'verdict' | 'holds_until' | 'pending' | 'known'> | undefined,
  ahead: Pick<Ahead, 'unusable' | 'pieces'>,
  now: Date,
): SeenPiece {
  const why = ahead.unusable.get(id)
  if (why) return { verdict: 'no', counted: false, words: why }
  const verdict = standing?.verdict
  if (!standing) return { verdict, counted: false, words: '' }
  if (ahead.pieces.has(id)) return { verdict, counted: false, words: WAITS }
  return { verdict, ...lapse(standing, now) }
}
