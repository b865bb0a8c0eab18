// The copy of the feed that this tab holds in memory. It applies pages of the change feed and nothing else:
// no screen writes into it, so it can only ever equal some state that the server has had. Answers that the server does not
// stand by now are marked in the record itself, so that no screen can read one without the mark.
import type { AnyRecord, ChangesPage, Unsettled } from '@/api/types'

export interface Applied {
  kind: string
  id: string
  before: AnyRecord | undefined
  after: AnyRecord | undefined
}

/** Names by `kind/id`. */
export type StubNames = Record<string, string>

const NONE: Unsettled = { more: false, records: [] }
const ANSWERS = ['rig_standing', 'piece_standing']

export class Replica {
  token: string | null = null
  revision = 0
  #unsettled: Unsettled = NONE
  readonly #turned = new Set<string>()
  readonly #kinds = new Map<string, Map<string, AnyRecord>>()
  readonly #stubs = new Map<string, string>()

  kind(name: string): ReadonlyMap<string, AnyRecord> {
    return this.#of(name)
  }

  /** What a record outside of the scope is called, where a record of the scope may name it. */
  stub(kind: string, id: string): string | undefined {
    return this.#stubs.get(`${kind}/${id}`)
  }

  /** Takes what was kept on the disk. */
  fill(
    rows: { kind: string; id: string; record: AnyRecord }[],
    at: { token: string | null; revision: number; unsettled?: Unsettled | undefined; stubs?: StubNames },
  ) {
    for (const { kind, id, record } of rows) this.#of(kind).set(id, record)
    this.token = at.token
    this.revision = at.revision
    for (const [key, name] of Object.entries(at.stubs ?? {})) this.#stubs.set(key, name)
    this.#mark(at.unsettled ?? NONE)
  }

  apply(page: ChangesPage): Applied[] {
    const applied: Applied[] = []
    for (const change of page.changes) {
      const rows = this.#of(change.kind)
      const before = rows.get(change.id)
      if (before && before.rev > change.rev) continue
      if (change.gone) {
        if (!rows.delete(change.id)) continue
        applied.push({ kind: change.kind, id: change.id, before, after: undefined })
      } else if (change.record) {
        const after = { ...change.record, id: change.id, rev: change.rev }
        if (before && before.rev === change.rev) {
          rows.set(change.id, after)
          continue
        }
        rows.set(change.id, after)
        applied.push({ kind: change.kind, id: change.id, before, after })
      }
    }
    for (const stub of page.stubs ?? []) this.#stubs.set(`${stub.kind}/${stub.id}`, stub.name)
    this.token = page.next
    // A page that came late says what was unsettled then.
    this.#mark(page.revision >= this.revision ? (page.unsettled ?? NONE) : this.#unsettled)
    this.revision = Math.max(this.revision, page.revision)
    return applied
  }

  /** Kinds of answers of which a mark was set or taken away since this was last asked. */
  turned(): string[] {
    const kinds = [...this.#turned]
    this.#turned.clear()
    return kinds
  }

  /** The records of the feed never carry the marks themselves: what is not named is settled. */
  #mark(unsettled: Unsettled) {
    this.#unsettled = unsettled
    const named = new Map(unsettled.records.map((one) => [`${one.kind}/${one.id}`, one.pending]))
    for (const kind of ANSWERS) {
      const rows = this.#of(kind)
      const noun = kind === 'rig_standing' ? 'rig' : 'piece'
      for (const [id, record] of rows) {
        const rig = record['rig']
        const pending =
          named.get(`${noun}/${id}`) ??
          (typeof rig === 'string' ? named.get(`rig/${rig}`) : undefined) ??
          (unsettled.more ? true : null)
        const marks = { known: pending === null, pending: pending ?? false }
        if (record['known'] === marks.known && record['pending'] === marks.pending) continue
        rows.set(id, { ...record, ...marks })
        this.#turned.add(kind)
      }
    }
  }

  #of(name: string): Map<string, AnyRecord> {
    let rows = this.#kinds.get(name)
    if (!rows) this.#kinds.set(name, (rows = new Map()))
    return rows
  }
}
