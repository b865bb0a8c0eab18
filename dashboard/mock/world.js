// Keeps the mock's records, revisions, journal and listeners.
import { compute } from './capability.js'
import { handleField } from './field.js'
import { makeAgency } from './agency.js'
import { Conflict, handle, MAY, Refusal } from './commands.js'

export function makeWorld() {
  const { db, members } = makeAgency()
  let revision = 1
  const log = []
  const journal = []
  const seen = new Map()
  const listeners = new Set()
  const touched = new Set()

  for (const [kind, rows] of db)
    for (const r of rows.values()) log.push({ kind, id: r.id, rev: (r.rev = revision) })
  const world = {
    members,
    journal,
    listeners,
    get revision() {
      return revision
    },
    get: (kind, id) => db.get(kind)?.get(id),
    all: (kind) => [...(db.get(kind)?.values() ?? [])],
    save(kind, record) {
      if (!db.has(kind)) db.set(kind, new Map())
      const next = { ...record, rev: revision }
      db.get(kind).set(next.id, next)
      touched.add(`${kind}/${next.id}`)
      return next
    },
    drop(kind, id) {
      db.get(kind).delete(id)
      touched.add(`${kind}/${id}`)
    },
    write(work) {
      revision++
      touched.clear()
      try {
        return work()
      } finally {
        if (touched.size) {
          capabilities()
          for (const key of touched) {
            const [kind, id] = key.split('/')
            log.push({ kind, id, rev: revision, gone: db.get(kind).has(id) ? undefined : 'deleted' })
          }
          for (const tell of listeners) tell(revision)
        }
      }
    },
    changes(since, limit, offset) {
      const from = since ?? 0
      const latest = new Map()
      for (const entry of log) if (entry.rev > from) latest.set(`${entry.kind}/${entry.id}`, entry)
      const all = [...latest.values()]
      const page = all.slice(offset, offset + limit)
      const more = offset + limit < all.length
      const next = more ? `${from}.${offset + limit}` : `${revision}.0`
      return {
        revision,
        next,
        more,
        changes: page.map(({ kind, id, rev, gone }) =>
          gone ? { kind, id, rev, gone } : { kind, id, rev, record: db.get(kind).get(id) },
        ),
      }
    },
    command(member, command) {
      if (seen.has(command.id)) return { ...seen.get(command.id), outcome: 'repeated' }
      const answer = world.write(() => {
        if (!MAY[member.role].includes(command.kind)) {
          return {
            id: command.id,
            outcome: 'refused',
            problem: {
              title: 'Not allowed',
              status: 403,
              code: 'not-allowed',
              detail: `Your role may not do this: ${command.kind}.`,
            },
          }
        }
        try {
          const words = handleField(world, member, command) ?? handle(world, member, command)
          const records = [...touched].map((key) => ({
            kind: key.split('/')[0],
            id: key.split('/')[1],
            rev: revision,
          }))
          journal.unshift({
            revision,
            at: command.at,
            received_at: new Date().toISOString(),
            by: { id: member.id, name: member.name, role: member.role },
            kind: command.kind,
            words,
            body: command.body,
            about: about(command.body),
          })
          return { id: command.id, outcome: 'applied', revision, records }
        } catch (fault) {
          if (fault instanceof Refusal) return { id: command.id, outcome: 'refused', problem: fault.problem }
          if (fault instanceof Conflict)
            return { id: command.id, outcome: 'conflict', current: fault.current }
          throw fault
        }
      })
      seen.set(command.id, answer)
      return answer
    },
  }
  const about = (body) => {
    const ids = new Set(Object.values(body).filter((v) => typeof v === 'string'))
    const t =
      world.get('ticket', body.id) ??
      world.get('swap', body.id) ??
      world.get('defect', body.defect ?? body.id)
    if (t?.piece) ids.add(t.piece)
    if (t?.rig) ids.add(t.rig)
    for (const id of [...ids]) {
      const p = world.get('piece', id)
      if (p?.place.at === 'rig') ids.add(p.place.rig)
    }
    return ids
  }
  const plain = (c) => JSON.stringify([c?.level, c?.fillings, c?.gaps, c?.also, c?.margin, c?.critical])
  function capabilities(first = false) {
    for (const rig of world.all('rig')) {
      const answer = compute(db, rig)
      if (!answer) continue
      const before = world.get('capability', rig.id)
      const since =
        before && before.level === answer.level
          ? before.since
          : first
            ? new Date(Date.now() - 9.3e6).toISOString()
            : new Date().toISOString()
      if (plain(before) !== plain(answer)) world.save('capability', { ...answer, since })
    }
  }
  capabilities(true)
  for (const r of world.all('capability')) log.push({ kind: 'capability', id: r.id, rev: revision })
  return world
}
