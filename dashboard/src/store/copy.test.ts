// The copy of the feed on a real (imitated) IndexedDB: never torn, never lost half-way, never another member's.
import 'fake-indexeddb/auto'
import { IDBFactory } from 'fake-indexeddb'
import { Client, prepare } from 'fullset-client'
import { beforeEach, describe, expect, it } from 'vitest'
import type { ChangesPage } from '@/api/types'
import { catchUp } from './catchup'
import { Copy, type Kept } from './copy'
import { openDisk, VERSION, type Disk } from './disk'
import { changeItem, enqueue, queued } from './queue'
import type { Replica } from './replica'

let disk: Disk
beforeEach(async () => {
  globalThis.indexedDB = new IDBFactory()
  disk = await openDisk()
})

const page = (next: string, revision: number, ids: string[], more = false): ChangesPage => ({
  revision,
  next,
  more,
  unsettled: { more: false, records: [] },
  stubs: [],
  changes: ids.map((id) => ({
    kind: 'piece',
    id,
    rev: revision,
    record: { id, rev: revision, kind: 'cutter' },
  })),
})
function feedOf(pages: Record<string, ChangesPage | 'lost' | 'resync'>) {
  const asked: string[] = []
  const fetch: typeof globalThis.fetch = (url) => {
    const since = new URL(String(url), 'http://x').searchParams.get('since') ?? 'none'
    asked.push(since)
    const found = pages[since] ?? page(since, 1, [])
    if (found === 'lost') return Promise.reject(new TypeError('network'))
    if (found === 'resync')
      return Promise.resolve(new Response('{"code":"resync-required"}', { status: 410 }))
    return Promise.resolve(new Response(JSON.stringify(found), { status: 200 }))
  }
  return { client: new Client({ fetch }), asked, pages }
}
const watch = { wanted: () => true, page: () => {}, snapshot: () => {} }
const keptIds = async (copy: Copy) =>
  copy.kept ? [...(await copy.load(copy.kept)).kind('piece').keys()].sort() : null

describe('the copy of the feed', () => {
  it('opens from the disk, and goes on from its token', async () => {
    const { client, asked } = feedOf({ none: page('t1', 1, ['a', 'b']), t1: page('t2', 2, ['c']) })
    const copy = new Copy(disk, 'ann', 'agency')
    await copy.look()
    await catchUp(copy, client, watch)
    const later = new Copy(await openDisk(), 'ann', 'agency')
    await later.look()
    expect(await keptIds(later)).toEqual(['a', 'b'])
    const replica = await later.load(later.kept as Kept)
    expect(replica.kind('piece').get('a')?.['kind']).toBe('cutter')
    await catchUp(later, client, watch)
    expect(await keptIds(later)).toEqual(['a', 'b', 'c'])
    expect(asked).toEqual(['none', 't1'])
  })
  it('a snapshot that broke off goes on from its last page, and is not shown before it is whole', async () => {
    const { client, asked, pages } = feedOf({ none: page('p1', 5, ['a'], true), p1: 'lost' })
    const copy = new Copy(disk, 'ann', 'agency')
    await copy.look()
    expect((await catchUp(copy, client, watch))?.code).toBe('no-connection')
    pages['p1'] = page('t5', 5, ['b'])
    const later = new Copy(disk, 'ann', 'agency')
    await later.look()
    expect(await keptIds(later)).toBeNull()
    let shown: Replica | null = null
    await catchUp(later, client, { ...watch, snapshot: (r) => (shown = r) })
    expect([...((shown as Replica | null)?.kind('piece').keys() ?? [])]).toEqual(['a', 'b'])
    expect(await keptIds(later)).toEqual(['a', 'b'])
    expect(asked).toEqual(['none', 'p1', 'p1'])
  })
  it('after resync-required the old copy stays until the new one is whole', async () => {
    const { client, pages } = feedOf({ none: page('t9', 9, ['a', 'b']) })
    const copy = new Copy(disk, 'ann', 'agency')
    await copy.look()
    await catchUp(copy, client, watch)
    Object.assign(pages, { t9: 'resync', none: page('n1', 3, ['b'], true), n1: 'lost' })
    await copy.look()
    await catchUp(copy, client, watch)
    await copy.look()
    expect(await keptIds(copy)).toEqual(['a', 'b'])
    pages['n1'] = page('n2', 3, ['c'])
    await catchUp(copy, client, watch)
    expect(await keptIds(copy)).toEqual(['b', 'c'])
    expect(await disk.all('records')).toHaveLength(2)
  })
  it('a page whose writing fails leaves records and token as they were', async () => {
    const { client } = feedOf({ none: page('t1', 1, ['a']) })
    const copy = new Copy(disk, 'ann', 'agency')
    await copy.look()
    await catchUp(copy, client, watch)
    const bad = page('t2', 2, ['x', 'y'])
    const record = bad.changes[1]?.record as Record<string, unknown>
    record['cannot be kept'] = () => {}
    await expect(copy.keep(bad)).rejects.toThrow()
    const later = new Copy(disk, 'ann', 'agency')
    await later.look()
    expect([later.kept?.token, await keptIds(later)]).toEqual(['t1', ['a']])
  })
  it('another station is fetched beside the old one; another member starts from nothing', async () => {
    const { client } = feedOf({ none: page('t1', 1, ['a']) })
    const copy = new Copy(disk, 'ann', 'agency')
    await copy.look()
    await catchUp(copy, client, watch)
    const station = new Copy(disk, 'ann', 'station:s')
    await station.look()
    expect([station.fits, await keptIds(station)]).toEqual([false, ['a']])
    const bob = new Copy(disk, 'bob', 'agency')
    await bob.look()
    expect(bob.kept).toBeNull()
  })
  it('what was sent leaves the outbox with the page that shows what came of it', async () => {
    const { client } = feedOf({ none: page('t4', 4, []), t4: page('t5', 5, ['a']) })
    const copy = new Copy(disk, 'ann', 'agency')
    await copy.look()
    await catchUp(copy, client, watch)
    const who = { owner: 'ann', ownerName: 'Ann' }
    const [item] = await enqueue(disk, who, 'one', prepare([{ kind: 'a', body: {} } as never]))
    await disk.write([changeItem(item?.seq ?? 0, (i) => ({ ...i, state: 'sent', revision: 5 }))])
    await copy.keep(page('t4b', 4, []))
    expect(await queued(disk, 'ann')).toHaveLength(1)
    await copy.keep(page('t5', 5, ['a']))
    expect(await queued(disk, 'ann')).toEqual([])
  })
})

it('a new version of the store drops the copy', async () => {
  const copy = new Copy(disk, 'ann', 'agency')
  await copy.look()
  await catchUp(copy, feedOf({ none: page('t1', 1, ['a']) }).client, watch)
  expect(await disk.all('records')).toHaveLength(1)
  disk.close()
  disk = await openDisk(VERSION + 1)
  expect([await disk.all('records'), await disk.get('meta', 'replica')]).toEqual([[], undefined])
  const next = new Copy(disk, 'ann', 'agency')
  await next.look()
  await catchUp(next, feedOf({ none: page('t2', 2, ['b']) }).client, watch)
  expect(await keptIds(next)).toEqual(['b'])
})
