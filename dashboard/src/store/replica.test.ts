import { describe, expect, it } from 'vitest'
import type { AnyRecord, Change, ChangesPage, Unsettled } from '@/api/types'
import { Replica } from './replica'

const page = (
  revision: number,
  changes: Change[],
  unsettled: Unsettled = { more: false, records: [] },
): ChangesPage => ({
  revision,
  next: `t${revision}`,
  more: false,
  changes,
  unsettled,
  stubs: [],
})
const rig = (id: string, rev: number, name: string): Change => ({
  kind: 'rig',
  id,
  rev,
  record: { id, rev, name },
})

describe('the replica', () => {
  it('holds what the feed brought and says what was before', () => {
    const replica = new Replica()
    replica.apply(page(1, [rig('a', 1, 'Engine 1')]))
    const applied = replica.apply(page(2, [rig('a', 2, 'Engine 11')]))
    expect(applied).toHaveLength(1)
    expect(applied[0]?.before?.['name']).toBe('Engine 1')
    expect(replica.kind('rig').get('a')?.['name']).toBe('Engine 11')
    expect(replica.token).toBe('t2')
  })
  it('does not go back to an older state when a page comes twice or late', () => {
    const replica = new Replica()
    replica.apply(page(5, [rig('a', 5, 'new')]))
    expect(replica.apply(page(3, [rig('a', 3, 'old')]))).toEqual([])
    expect(replica.kind('rig').get('a')?.['name']).toBe('new')
    expect(replica.revision).toBe(5)
    expect(replica.apply(page(5, [rig('a', 5, 'new')]))).toEqual([])
  })
  it('forgets what is gone and keeps kinds it does not know', () => {
    const replica = new Replica()
    replica.apply(
      page(1, [
        rig('a', 1, 'x'),
        { kind: 'weather' as Change['kind'], id: 'w', rev: 1, record: { id: 'w', rev: 1 } },
      ]),
    )
    replica.apply(page(2, [{ kind: 'rig', id: 'a', rev: 2, gone: 'deleted' }]))
    expect(replica.kind('rig').size).toBe(0)
    expect(replica.kind('weather').size).toBe(1)
  })
})

describe('answers that the server does not stand by now', () => {
  const answer = (kind: Change['kind'], id: string, rev: number, more = {}): Change => ({
    kind,
    id,
    rev,
    record: { id, rev, known: true, pending: false, ...more },
  })
  const rows = [
    answer('rig_standing', 'r', 1),
    answer('rig_standing', 'other', 1),
    answer('piece_standing', 'aboard', 1, { rig: 'r' }),
    answer('piece_standing', 'loose', 1, { rig: null }),
  ]
  const marks = (replica: Replica) =>
    ['rig_standing', 'piece_standing'].flatMap((kind) =>
      [...replica.kind(kind).values()].filter((one) => one['known'] === false).map((one) => one.id),
    )
  const waits = { more: false, records: [{ kind: 'rig' as const, id: 'r', pending: true }] }

  it('are marked, with those of the pieces aboard, until a page does not name them any more', () => {
    const replica = new Replica()
    replica.apply(page(1, rows))
    replica.turned()
    expect(marks(replica)).toEqual([])
    expect(replica.apply(page(2, [], waits))).toEqual([])
    expect(marks(replica)).toEqual(['r', 'aboard'])
    expect(replica.kind('rig_standing').get('r')?.['pending']).toBe(true)
    expect(replica.turned()).toEqual(['rig_standing', 'piece_standing'])
    // One that was judged meanwhile and ran out at once is named for another reason.
    replica.apply(page(3, [answer('rig_standing', 'r', 3)], waits))
    expect(marks(replica)).toEqual(['r', 'aboard'])
    replica.apply(page(4, []))
    expect(marks(replica)).toEqual([])
    expect(replica.turned()).toEqual(['rig_standing', 'piece_standing'])
  })
  it('are all of them where there are more than a page names', () => {
    const replica = new Replica()
    replica.apply(page(1, rows, { more: true, records: [] }))
    expect(marks(replica)).toEqual(['r', 'other', 'aboard', 'loose'])
  })
  it('stay marked on the disk, and a page that comes late marks nothing', () => {
    const kept = new Replica()
    const records = rows.map(({ kind, id, record }) => ({ kind, id, record: record as AnyRecord }))
    kept.fill(records, { token: 't2', revision: 2, unsettled: waits })
    expect(marks(kept)).toEqual(['r', 'aboard'])
    kept.apply(page(1, []))
    expect(marks(kept)).toEqual(['r', 'aboard'])
  })
})
