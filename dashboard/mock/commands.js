// The commands of the contract, as far as the screens use them.
export const MAY = {
  crew: ['defect.report', 'defect.note', 'piece.take_out', 'swap.start', 'piece.arrive'],
  officer: [
    'defect.report',
    'defect.note',
    'defect.close',
    'piece.take_out',
    'piece.return',
    'piece.move',
    'piece.arrive',
    'swap.start',
    'swap.end',
    'swap.keep',
    'rig.take_out',
    'rig.put_back',
    'ticket.open',
  ],
  shop: [
    'defect.report',
    'defect.note',
    'defect.close',
    'piece.take_out',
    'piece.return',
    'piece.move',
    'piece.arrive',
    'ticket.open',
    'ticket.accept',
    'ticket.work',
    'ticket.wait',
    'ticket.line',
    'ticket.test',
    'ticket.return',
    'ticket.drop',
  ],
}
MAY.chief = [...MAY.officer]
MAY.coordinator = [
  ...new Set([
    ...MAY.officer,
    ...MAY.shop,
    'piece.add',
    'piece.edit',
    'piece.retire',
    'register.import',
    'register.undo_import',
  ]),
]
MAY.admin = MAY.coordinator

export class Refusal extends Error {
  constructor(problem) {
    super(problem.detail)
    this.problem = { type: 'about:blank', title: 'Refused', status: 422, ...problem }
  }
}
export class Conflict extends Error {
  constructor(current) {
    super('conflict')
    this.current = current
  }
}
const refuse = (code, detail, hint) => {
  throw new Refusal({ code, detail, hint })
}

/** `world` gives get, save, agency time and the member; each handler returns the words for the journal. */
export function handle(world, member, command) {
  const { body, at, expects } = command
  const who = member.name
  const need = (kind, id) => world.get(kind, id) ?? refuse('not-found', `No such ${kind}.`)
  const fresh = (record) => {
    if (expects === undefined) refuse('revision-needed', 'This needs the revision it was decided on.')
    if (record.rev !== expects) throw new Conflict(record)
    return record
  }
  const state = (piece, value, reason) =>
    world.save('piece', { ...piece, state: value, state_since: at, state_reason: reason, state_by: who })
  const loose = (id, ended) => {
    const p = need('piece', id)
    world.save('piece', { ...p, holds: p.holds.filter((h) => !ended.includes(h.id)) })
  }
  const tag = (id) => need('piece', id).tag
  const ticket = (wanted) => {
    const t = need('ticket', body.id)
    if (!wanted.includes(t.state))
      refuse('rule-broken', `The ticket is ${t.state}.`, `It must be ${wanted.join(' or ')} first.`)
    return t
  }

  switch (command.kind) {
    case 'defect.report': {
      const piece = need('piece', body.piece)
      world.save('defect', {
        id: body.id,
        rev: 0,
        piece: piece.id,
        what: body.what,
        severity: body.severity,
        state: 'open',
        seen_at: at,
        reported_by: who,
        place: piece.place,
        ticket: null,
        repeats: [],
        photos: body.photos ?? [],
        closed_at: null,
        closed_by: null,
        resolution: null,
      })
      if (body.severity === 'out_of_service') {
        state(
          { ...piece, holds: [...piece.holds, { by: 'defect', id: body.id }] },
          'out_of_service',
          body.what,
        )
      }
      return `${piece.tag}: defect reported, ${body.severity === 'usable' ? 'still usable' : 'out of service'}: ${body.what}`
    }
    case 'defect.note': {
      const d = need('defect', body.id)
      world.save('defect', {
        ...d,
        repeats: [...d.repeats, { at, by: who, text: body.text, photos: body.photos ?? [] }],
      })
      return `${tag(d.piece)}: seen again: ${body.text}`
    }
    case 'defect.close': {
      const d = fresh(need('defect', body.id))
      world.save('defect', {
        ...d,
        state: 'closed',
        closed_at: at,
        closed_by: who,
        resolution: body.resolution,
      })
      loose(d.piece, [d.id])
      return `${tag(d.piece)}: defect closed: ${body.resolution}`
    }
    case 'piece.take_out': {
      const p = need('piece', body.id)
      state(p, 'out_of_service', body.reason)
      return `${p.tag} taken out of service: ${body.reason}`
    }
    case 'piece.return': {
      const p = fresh(need('piece', body.id))
      if (p.holds.some((h) => h.by === 'defect'))
        refuse('rule-broken', `${p.tag} has an open defect; close it first, saying what was done`)
      if (p.holds.length)
        refuse('rule-broken', `${p.tag} is on a repair ticket; it comes back through the ticket`)
      state(p, 'in_service', null)
      return `${p.tag} returned to service: ${body.note}`
    }
    case 'piece.move': {
      const p = fresh(need('piece', body.id))
      world.save('piece', { ...p, place: body.arrived ? body.to : { at: 'transit', to: body.to } })
      return `${p.tag} moved`
    }
    case 'piece.arrive': {
      const p = need('piece', body.id)
      if (p.place.at !== 'transit') refuse('not-in-transit', `${p.tag} is not in transit.`)
      world.save('piece', { ...p, place: p.place.to })
      return `${p.tag} arrived`
    }
    case 'rig.take_out': {
      const r = need('rig', body.id)
      world.save('rig', { ...r, in_service: false, out_reason: body.reason, out_since: at })
      return `${r.name} taken out of service: ${body.reason}`
    }
    case 'rig.put_back': {
      const r = need('rig', body.id)
      world.save('rig', { ...r, in_service: true, out_reason: null, out_since: null })
      return `${r.name} put back in service`
    }
    case 'swap.start': {
      const p = need('piece', body.piece)
      const r = need('rig', body.rig)
      const taken = world.all('swap').some((s) => s.piece === p.id && s.state === 'open')
      if (taken) refuse('rule-broken', `${p.tag} already stands in on another rig.`, 'Choose another piece.')
      world.save('swap', {
        id: body.id,
        rev: 0,
        rig: r.id,
        piece: p.id,
        stands_in_for: body.stands_in_for ?? null,
        slot: body.slot ?? null,
        from: p.place,
        state: 'open',
        started_at: at,
        started_by: who,
        ended_at: null,
        ended_by: null,
      })
      world.save('piece', {
        ...p,
        place: body.on_the_way ? { at: 'transit', to: { at: 'rig', rig: r.id } } : { at: 'rig', rig: r.id },
      })
      return `${p.tag} put aboard ${r.name} as stand-in`
    }
    case 'swap.end': {
      const s = fresh(need('swap', body.id))
      const p = need('piece', s.piece)
      world.save('swap', { ...s, state: 'ended', ended_at: at, ended_by: who })
      world.save('piece', {
        ...p,
        place: body.on_the_way ? { at: 'transit', to: body.to ?? s.from } : (body.to ?? s.from),
      })
      return `${p.tag}: stand-in ended`
    }
    case 'swap.keep': {
      const s = need('swap', body.id)
      world.save('swap', { ...s, state: 'kept', ended_at: at, ended_by: who })
      return `${tag(s.piece)} stays for good`
    }
    case 'ticket.open': {
      const p = need('piece', body.piece)
      if (p.state !== 'out_of_service')
        refuse('rule-broken', `${p.tag} is not out of service; take it out first, then open the ticket`)
      world.save('ticket', {
        id: body.id,
        rev: 0,
        piece: p.id,
        shop: body.shop,
        what: body.what,
        defects: body.defects ?? [],
        state: 'waiting',
        opened_at: at,
        opened_by: who,
        hold_for: null,
        expected_on: null,
        lines: [],
        tests: [],
        closed_at: null,
        closed_by: null,
      })
      for (const id of body.defects ?? []) world.save('defect', { ...need('defect', id), ticket: body.id })
      world.save('piece', { ...p, holds: [...p.holds, { by: 'ticket', id: body.id }] })
      return `${p.tag}: ticket opened: ${body.what}`
    }
    case 'ticket.accept':
      world.save('ticket', { ...ticket(['waiting']), state: 'accepted', accepted_by: who })
      return `ticket accepted`
    case 'ticket.work':
      world.save('ticket', {
        ...ticket(['accepted', 'on_hold', 'tested']),
        state: 'working',
        hold_for: null,
        expected_on: null,
      })
      return `work started`
    case 'ticket.wait':
      world.save('ticket', {
        ...ticket(['accepted', 'working']),
        state: 'on_hold',
        hold_for: body.for,
        expected_on: body.expected_on ?? null,
      })
      return `on hold for ${body.for}`
    case 'ticket.line': {
      const t = ticket(['accepted', 'working', 'on_hold'])
      world.save('ticket', { ...t, lines: [...t.lines, body.line] })
      return `${body.line.kind}: ${body.line.what}`
    }
    case 'ticket.test': {
      const t = ticket(['accepted', 'working', 'tested'])
      const test = { at, by: who, passed: body.passed, readings: body.readings, note: body.note ?? null }
      world.save('ticket', { ...t, state: body.passed ? 'tested' : 'working', tests: [...t.tests, test] })
      return `tested: ${body.passed ? 'passed' : 'failed'}`
    }
    case 'ticket.return': {
      const t = need('ticket', body.id)
      const last = t.tests.at(-1)
      if (!last?.passed || !last.readings.length) {
        refuse(
          'test-missing',
          'A passed test with at least one reading comes first.',
          'Record the test, then return the piece.',
        )
      }
      const p = need('piece', t.piece)
      world.save('ticket', { ...t, state: 'closed', closed_at: at, closed_by: who })
      for (const d of world.all('defect')) {
        if (d.piece === p.id && d.state === 'open')
          world.save('defect', {
            ...d,
            state: 'closed',
            closed_at: at,
            closed_by: who,
            resolution: 'Repaired',
          })
      }
      state(
        {
          ...p,
          holds: [],
          place: !body.to ? p.place : body.arrived ? body.to : { at: 'transit', to: body.to },
        },
        'in_service',
        null,
      )
      return `${p.tag} returned to service from the shop`
    }
    case 'ticket.drop': {
      const t = fresh(need('ticket', body.id))
      world.save('ticket', { ...t, state: 'closed', closed_at: at, closed_by: who, note: body.note })
      loose(t.piece, [t.id])
      return `ticket closed without return: ${body.note}`
    }
    case 'register.undo_import': {
      const i = need('import', body.id)
      world.save('import', { ...i, undone_at: at })
      for (const p of world.all('piece')) if (p.import === i.id) world.drop('piece', p.id)
      return `import undone`
    }
    default:
      return refuse('unknown-command', `The mock does not know ${command.kind}.`)
  }
}
