import { describe, expect, it } from 'vitest'
import type { Change, ChangesPage } from '@/api/types'
import { Replica } from './replica'

const page = (revision: number, changes: Change[]): ChangesPage => ({
  revision,
  next: `t${revision}`,
  more: false,
  changes,
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
      page(1, [rig('a', 1, 'x'), { kind: 'weather', id: 'w', rev: 1, record: { id: 'w', rev: 1 } }]),
    )
    replica.apply(page(2, [{ kind: 'rig', id: 'a', rev: 2, gone: 'deleted' }]))
    expect(replica.kind('rig').size).toBe(0)
    expect(replica.kind('weather').size).toBe(1)
  })
})
