// What queued acts look like before the server has them: one small function for each kind. They change what a person
// would see on the piece itself; what follows for a rig is the server's to work out, and foresee.ts says so meanwhile.
// A return to service is never shown ahead: a piece looks usable only when the server says so.
import type {
  AnyRecord,
  Command,
  Defect,
  Member,
  Person,
  Piece,
  PieceAct,
  Place,
  Rig,
  Swap,
  Use,
} from '@/api/types'

export interface Laid {
  /** kind -> id -> the record as it looks with the queued acts. */
  records: Map<string, Map<string, AnyRecord>>
  /** `kind/id` of everything that waits on this phone. */
  marks: Set<string>
}
interface Queued {
  command: Command
  owner: string
  ownerName: string
  by?: string | undefined
  queued_at: number
}

export function lay(items: Queued[], base: (kind: string, id: string) => AnyRecord | undefined): Laid {
  const laid: Laid = { records: new Map(), marks: new Set() }
  for (const item of items) SHOW[item.command.kind]?.(new Desk(laid, base, item))
  for (const item of items) markWhatItNames(laid, item.command, base)
  return laid
}

class Desk {
  readonly body: Record<string, unknown>
  readonly at: string
  readonly who: Person
  /** Its id. */
  readonly command: string
  constructor(
    readonly laid: Laid,
    readonly base: (kind: string, id: string) => AnyRecord | undefined,
    item: Queued,
  ) {
    this.body = item.command.body
    this.command = item.command.id
    this.at = item.command.at ?? new Date(item.queued_at).toISOString()
    this.who = {
      id: item.command.by?.member ?? item.owner,
      name: item.by ?? item.ownerName,
    }
  }

  text = (field: string) => String(this.body[field] ?? '')
  get<T>(kind: string, id: string): T | undefined {
    return (this.laid.records.get(kind)?.get(id) ?? this.base(kind, id)) as T | undefined
  }
  put(kind: string, record: object) {
    const rows = this.laid.records.get(kind) ?? new Map<string, AnyRecord>()
    this.laid.records.set(kind, rows)
    const made = { rev: 0, ...record } as AnyRecord
    rows.set(made.id, made)
    this.laid.marks.add(`${kind}/${made.id}`)
  }
  edit<T extends object>(kind: string, id: string, to: (record: T) => Partial<T>) {
    const record = this.get<T>(kind, id)
    if (!record) return
    this.put(kind, { ...record, ...to(record) })
  }
  /** Planned stays planned only until something else is found. `held`: by a defect, which is closed before it comes back. */
  out(piece: string, reason: string, planned: boolean, held = false) {
    this.edit<Piece>('piece', piece, (was) => ({
      planned: planned && (was.planned || was.state === 'in_service'),
      state: 'out_of_service',
      state_reason: reason,
      state_since: this.at,
      state_by: this.who,
      allows: [
        ...without(was.allows, 'swap.start', ...(held ? (['piece.return'] as const) : [])),
        ...(was.state === 'in_service' ? (['ticket.open'] as const) : []),
      ],
    }))
  }
  move(piece: string, place: Place) {
    this.edit<Piece>('piece', piece, (was) => {
      const still = without(was.allows, 'piece.arrive', 'swap.start')
      return { place, allows: place.at === 'transit' ? [...still, 'piece.arrive'] : still }
    })
  }
}

/** What is left to do with a piece. Ahead of the server no more is offered than what follows the act by itself. */
const without = (all: PieceAct[] = [], ...ended: PieceAct[]) => all.filter((act) => !ended.includes(act))

const NOT_OF_THE_MISSING: PieceAct[] = [
  'piece.return',
  'piece.move',
  'piece.arrive',
  'piece.serviced',
  'piece.report_missing',
  'ticket.open',
  'swap.start',
]

const SHOW: Record<string, (d: Desk) => void> = {
  'defect.report'(d) {
    const piece = d.get<Piece>('piece', d.text('piece'))
    const { id, what, severity, photos } = d.body
    const kindOf = d.body['class'] ?? 'other'
    d.put('defect', {
      id,
      piece: d.text('piece'),
      what,
      class: kindOf,
      severity,
      photos: photos ?? [],
      state: 'open',
      seen_at: d.at,
      reported_by: d.who,
      place: piece?.place,
      seen_again: 0,
      allows: ['defect.note'],
    })
    if (severity === 'out_of_service') d.out(d.text('piece'), d.text('what'), false, true)
    else d.edit<Piece>('piece', d.text('piece'), () => ({}))
  },
  'defect.note'(d) {
    const worse = d.body['severity'] === 'out_of_service'
    const piece = d.get<Defect>('defect', d.text('id'))?.piece
    if (piece)
      d.put('defect_note', {
        id: d.command,
        defect: d.text('id'),
        piece,
        at: d.at,
        by: d.who,
        text: d.text('text'),
        photos: (d.body['photos'] as string[]) ?? [],
        class: null,
        severity: null,
        state: 'open',
      })
    d.edit<Defect>('defect', d.text('id'), (defect) => ({
      seen_again: defect.seen_again + 1,
      ...(worse ? { severity: 'out_of_service' as const, limit: null } : {}),
    }))
    if (worse && piece) d.out(piece, d.text('text'), false, true)
  },
  'piece.take_out': (d) => d.out(d.text('id'), d.text('reason'), d.body['planned'] === true),
  'piece.report_missing'(d) {
    d.edit<Piece>('piece', d.text('id'), (was) => ({
      state: 'missing',
      allows: [...without(was.allows, ...NOT_OF_THE_MISSING), 'piece.found'],
      state_reason: d.text('note'),
      state_since: d.at,
      state_by: d.who,
    }))
  },
  // Found or not found leaves the notice its hold. That a piece is done with is the server's to say.
  'notice.seek'(d) {
    const [notice, words] = [d.text('id'), d.text('note') || null]
    const state = d.body['found'] ? ('found' as const) : ('not_found' as const)
    d.edit<Piece>('piece', d.text('piece'), (was) => ({
      notices: [
        ...was.notices.filter((mark) => mark.notice !== notice),
        {
          notice,
          state,
          at: d.at,
          by: d.who,
          words,
          photos: (d.body['photos'] as string[] | undefined) ?? [],
        },
      ],
    }))
  },
  'piece.move'(d) {
    const to = d.body['to'] as Place
    d.move(d.text('id'), d.body['arrived'] ? to : ({ at: 'transit', to } as Place))
  },
  'piece.arrive'(d) {
    const place = d.get<Piece>('piece', d.text('id'))?.place
    if (place?.at === 'transit') d.move(d.text('id'), place.to)
  },
  'rig.take_out'(d) {
    const reason = d.text('reason')
    const planned = d.body['planned'] === true
    d.edit<Rig>('rig', d.text('id'), (was) => ({
      planned: planned && (was.planned || was.in_service),
      in_service: false,
      out_reason: reason,
      out_since: d.at,
    }))
  },
  'swap.start'(d) {
    const from = d.get<Piece>('piece', d.text('piece'))?.place
    const { id, rig, piece, slot, stands_in_for } = d.body
    d.put('swap', {
      id,
      rig,
      piece,
      slot,
      stands_in_for,
      from,
      state: 'open',
      started_at: d.at,
      started_by: d.who,
      allows: [],
    })
    const aboard: Place = { at: 'rig', rig: d.text('rig') }
    d.move(d.text('piece'), d.body['on_the_way'] ? ({ at: 'transit', to: aboard } as Place) : aboard)
  },
  'swap.end'(d) {
    const swap = d.get<Swap>('swap', d.text('id'))
    if (!swap) return
    const to = (d.body['to'] as Place | undefined) ?? swap.from
    d.move(swap.piece, d.body['on_the_way'] ? ({ at: 'transit', to } as Place) : to)
    d.edit<Swap>('swap', swap.id, () => ({ state: 'ended', ended_at: d.at, ended_by: d.who, allows: [] }))
  },
  'swap.keep': (d) =>
    d.edit<Swap>('swap', d.text('id'), () => ({
      state: 'kept',
      ended_at: d.at,
      ended_by: d.who,
      allows: [],
    })),
  'ticket.open'(d) {
    const { id, piece, shop, what, defects } = d.body
    const empty = { lines: [], tests: [], state: 'waiting', allows: [] }
    d.put('ticket', {
      ...empty,
      id,
      piece,
      shop,
      what,
      defects: defects ?? [],
      opened_at: d.at,
      opened_by: d.who,
    })
    d.edit<Piece>('piece', d.text('piece'), (was) => ({
      allows: without(was.allows, 'ticket.open', 'piece.return', 'piece.retire'),
    }))
  },
  'crew.name'(d) {
    const { id, members, until } = d.body as { id: string; members: string[]; until: string }
    const named = members.map((one) => ({ id: one, name: d.get<Member>('member', one)?.name ?? 'a member' }))
    d.put('crew', { id, members: named, from: d.at, until, said_by: d.who })
  },
  'use.record'(d) {
    const station = d.get<Rig>('rig', d.text('rig'))?.station
    d.put('use', { pieces: [], ...d.body, station, used_at: d.at, recorded_by: d.who, allows: [] })
  },
  'use.correct'(d) {
    const { pieces, minutes, reason } = d.body as Pick<Use, 'pieces' | 'minutes'> & { reason: string }
    const corrected = { at: d.at, by: d.who, reason }
    d.edit<Use>('use', d.text('id'), () => ({ pieces, minutes, corrected }))
  },
}

const NAMED: Record<string, string> = {
  piece: 'piece',
  rig: 'rig',
  defect: 'defect',
  ticket: 'ticket',
  swap: 'swap',
}

/** Whatever an act is about is marked, also where nothing of it is shown ahead. */
function markWhatItNames(
  laid: Laid,
  command: Command,
  base: (kind: string, id: string) => AnyRecord | undefined,
) {
  const noun = command.kind.split('.')[0] ?? ''
  const id = command.body['id']
  if (typeof id === 'string' && base(noun, id)) laid.marks.add(`${noun}/${id}`)
  for (const [field, kind] of Object.entries(NAMED)) {
    const named = command.body[field]
    if (typeof named === 'string') laid.marks.add(`${kind}/${named}`)
  }
  const pieces = command.body['pieces']
  if (Array.isArray(pieces)) for (const one of pieces) laid.marks.add(`piece/${String(one)}`)
}
