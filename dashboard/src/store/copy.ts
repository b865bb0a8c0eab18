// The copy of the feed on the disk. Each page goes in with its token in one transaction. A snapshot is built beside the
// copy that is in use, under a generation of its own, and takes its place with the last page: a break on the way costs
// neither what was there nor the pages that came.
import type { AnyRecord, ChangesPage, Unsettled } from '@/api/types'
import { memory, type Disk, type Op } from './disk'
import type { Item } from './queue'
import { Replica, type StubNames } from './replica'

export interface Kept {
  gen: number
  /** Whose copy it is; another member starts from nothing. */
  owner: string
  scope: string
  token: string | null
  revision: number
  /** The answers that did not count when the last page was read. */
  unsettled?: Unsettled | undefined
  /** What records outside of the scope are called. */
  stubs?: StubNames
  /** When the last page came, by this phone's clock, milliseconds. */
  at: number
}
interface Row {
  gen: number
  kind: string
  id: string
  record: AnyRecord
}

export class Copy {
  /** The copy that is in use, and the one that is being built. */
  kept: Kept | null = null
  building: Kept | null = null

  constructor(
    public disk: Disk,
    readonly owner: string,
    readonly scope: string,
  ) {}

  /** Reads where this phone stands; other tabs may have moved it on. */
  async look(): Promise<void> {
    const own = (kept: Kept | undefined) => (kept?.owner === this.owner ? kept : null)
    this.kept = own(await this.disk.get<Kept>('meta', 'replica'))
    const building = own(await this.disk.get<Kept>('meta', 'building'))
    this.building = building?.scope === this.scope && this.disk.lasting ? building : null
  }

  /** The disk takes nothing more: goes on in memory from the same place. */
  async retreat(): Promise<void> {
    this.disk = memory()
    this.building = null
    if (this.kept) await this.disk.write([{ put: 'meta', key: 'replica', value: this.kept }])
  }

  /** Whether the copy in use answers the question that is asked now. */
  get fits(): boolean {
    return this.kept?.scope === this.scope
  }

  async load(kept: Kept): Promise<Replica> {
    const replica = new Replica()
    const range =
      typeof IDBKeyRange === 'undefined' ? undefined : IDBKeyRange.bound([kept.gen], [kept.gen, []])
    replica.fill(await this.disk.all<Row>('records', range), kept)
    return replica
  }

  /** Begins a snapshot: what is left of an earlier try goes. */
  async begin(): Promise<Kept> {
    const before = await this.disk.get<Kept>('meta', 'replica')
    const tried = await this.disk.get<Kept>('meta', 'building')
    const gen = Math.max(before?.gen ?? 0, tried?.gen ?? 0) + 1
    const building: Kept = {
      gen,
      owner: this.owner,
      scope: this.scope,
      token: null,
      revision: 0,
      at: Date.now(),
    }
    const ops: Op[] = [{ put: 'meta', key: 'building', value: building }]
    if (this.disk.lasting)
      ops.push({ delete: 'records', key: IDBKeyRange.lowerBound([(before?.gen ?? 0) + 1]) })
    await this.disk.write(ops)
    return (this.building = building)
  }

  /** One page of the snapshot; the last one puts it in the place of the old copy. */
  async build(page: ChangesPage): Promise<void> {
    const building = moved(this.building ?? (await this.begin()), page)
    const ops = this.#rows(building.gen, page)
    if (page.more) ops.push({ put: 'meta', key: 'building', value: building })
    else {
      ops.push({ put: 'meta', key: 'replica', value: building }, { delete: 'meta', key: 'building' })
      if (this.disk.lasting)
        ops.push({ delete: 'records', key: IDBKeyRange.upperBound([building.gen], true) })
      ops.push(...(await this.#arrived(Infinity)))
    }
    await this.disk.write(ops)
    this.building = page.more ? building : null
    if (!page.more) this.kept = building
  }

  /** One page of changes. What the phone had sent and now sees in the feed leaves the outbox with it. */
  async keep(page: ChangesPage): Promise<void> {
    if (!this.kept) return
    const kept = moved(this.kept, page)
    const ops = this.#rows(kept.gen, page)
    ops.push({ put: 'meta', key: 'replica', value: kept })
    if (!page.more) ops.push(...(await this.#arrived(kept.revision)))
    await this.disk.write(ops)
    this.kept = kept
  }

  #rows(gen: number, page: ChangesPage): Op[] {
    if (!this.disk.lasting) return []
    return page.changes.flatMap(({ kind, id, rev, record, gone }): Op[] => {
      if (gone) return [{ delete: 'records', key: [gen, kind, id] }]
      return record
        ? [{ put: 'records', value: { gen, kind, id, record: { ...record, id, rev } } satisfies Row }]
        : []
    })
  }

  /** What was sent and is in the feed by now. A whole new snapshot has it, whatever its revision is called. */
  async #arrived(revision: number): Promise<Op[]> {
    const items = await this.disk.all<Item>('outbox')
    const seen = items.filter(
      (i) => i.owner === this.owner && i.state === 'sent' && (i.revision ?? 0) <= revision,
    )
    return seen.map(({ seq }) => ({ delete: 'outbox', key: seq }))
  }
}

const moved = (kept: Kept, page: ChangesPage): Kept => ({
  ...kept,
  token: page.next,
  revision: Math.max(kept.revision, page.revision),
  unsettled: page.unsettled,
  stubs: {
    ...kept.stubs,
    ...Object.fromEntries((page.stubs ?? []).map(({ kind, id, name }) => [`${kind}/${id}`, name])),
  },
  at: Date.now(),
})
