// The copy of the feed that this tab holds in memory. It applies pages of the change feed and nothing else:
// no screen writes into it, so it can only ever equal some state that the server has had.
import type { AnyRecord, ChangesPage } from '@/api/types'

export interface Applied {
  kind: string
  id: string
  before: AnyRecord | undefined
  after: AnyRecord | undefined
}

export class Replica {
  token: string | null = null
  revision = 0
  readonly #kinds = new Map<string, Map<string, AnyRecord>>()

  kind(name: string): ReadonlyMap<string, AnyRecord> {
    return this.#of(name)
  }

  /** Takes what was kept on the disk. */
  fill(
    rows: { kind: string; id: string; record: AnyRecord }[],
    at: { token: string | null; revision: number },
  ) {
    for (const { kind, id, record } of rows) this.#of(kind).set(id, record)
    this.token = at.token
    this.revision = at.revision
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
    this.token = page.next
    this.revision = Math.max(this.revision, page.revision)
    return applied
  }

  #of(name: string): Map<string, AnyRecord> {
    let rows = this.#kinds.get(name)
    if (!rows) this.#kinds.set(name, (rows = new Map()))
    return rows
  }
}
