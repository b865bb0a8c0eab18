// The outbox on a real (imitated) IndexedDB: nothing is lost between two steps, nothing goes out twice as two acts.
import 'fake-indexeddb/auto'
import { IDBFactory } from 'fake-indexeddb'
import { Client, prepare, type Command } from 'fullset-client'
import { beforeEach, describe, expect, it } from 'vitest'
import { chain, takeOut } from './chain'
import { memory, openDisk, VERSION, type Disk, type Name, type Op } from './disk'
import { forget, forgetAll } from './forget'
import { blocked, drain, enqueue, queued, type Item, type Photo } from './queue'

const ANN = { owner: 'ann', ownerName: 'Ann' }
const BOB = { owner: 'bob', ownerName: 'Bob' }
let disk: Disk

beforeEach(async () => {
  globalThis.indexedDB = new IDBFactory()
  disk = await openDisk()
  await signedIn('ann')
})
const signedIn = (owner: string, ended = false) =>
  disk.write([{ put: 'meta', key: 'session', value: { owner, session: {}, ended } }])

/** A server that acts once for each id, as ours does; `lose` says which answers do not arrive. */
function service(lose: (nth: number) => boolean = () => false) {
  const acted = new Map<string, Command>()
  const photos = new Set<string>()
  const batches: string[][] = []
  let nth = 0
  const refuse = new Set<string>()
  const fetch: typeof globalThis.fetch = (url, init) => {
    const path = String(url)
    const answer = (status: number, body?: unknown) => {
      if (lose(nth++)) return Promise.reject(new TypeError('network'))
      return Promise.resolve(new Response(body === undefined ? null : JSON.stringify(body), { status }))
    }
    if (path.startsWith('/v1/photos/')) {
      const sha = path.split('/').at(-1) ?? ''
      if (init?.method === 'HEAD') return answer(photos.has(sha) ? 200 : 404)
      photos.add(sha)
      return answer(201)
    }
    const { commands } = JSON.parse(String(init?.body)) as { commands: Command[] }
    batches.push(commands.map((c) => c.id))
    const met = new Set<string>()
    const answers = commands.map((c) => {
      const problem = (code: string, field?: string) => ({
        id: c.id,
        outcome: 'refused',
        problem: { code, title: code, status: 422, field },
      })
      if (acted.has(c.id)) return { id: c.id, outcome: 'repeated', revision: 5 }
      if (c.after && !acted.has(c.after)) return problem('after-refused', 'after')
      if (refuse.has(c.kind)) return problem('rule-broken')
      if (c.kind === 'piece.return' && c.expects !== 9)
        return { id: c.id, outcome: 'conflict', current: { id: c.body['id'], rev: 9 } }
      acted.set(c.id, c)
      met.add(c.id)
      return { id: c.id, outcome: 'applied', revision: 5 }
    })
    return answer(200, { revision: 5, answers })
  }
  return { client: new Client({ fetch }), acted, photos, batches, refuse }
}
const put = (kind: string, who = ANN, photos: string[] = []) =>
  enqueue(disk, who, kind, prepare([{ kind, body: { id: kind } } as never]), photos)
const photo = (sha: string, owner = 'ann'): Photo => ({
  sha,
  owner,
  type: 'image/jpeg',
  bytes: new ArrayBuffer(4),
  at: Date.now(),
  for: [],
})
const states = async (owner = 'ann') => (await queued(disk, owner)).map((i) => [i.words, i.state])

describe('the outbox', () => {
  it('sends in order, and what the server has answered is sent no more', async () => {
    const { client, acted, batches } = service()
    for (const kind of ['one', 'two', 'three']) await put(kind)
    expect(await drain(disk, client, 'ann')).toBeNull()
    expect([...acted.values()].map((c) => c.kind)).toEqual(['one', 'two', 'three'])
    expect(await drain(disk, client, 'ann')).toBeNull()
    expect(batches).toHaveLength(1)
  })
  it('asks again under the same ids when the answer was lost, and the server acts once', async () => {
    const { client, acted, batches } = service((nth) => nth < 2)
    await put('one')
    expect((await drain(disk, client, 'ann'))?.code).toBe('no-connection')
    expect((await queued(disk, 'ann'))[0]).toMatchObject({ state: 'waiting', tried: 1 })
    await drain(disk, client, 'ann')
    expect(await drain(disk, client, 'ann')).toBeNull()
    expect(acted.size).toBe(1)
    expect(new Set(batches.flat()).size).toBe(1)
    expect(await states()).toEqual([['one', 'sent']])
  })
  it('survives a crash after sending and before the answer is written down', async () => {
    const { client, acted } = service()
    await put('one')
    const dying: Disk = {
      ...disk,
      write: (ops) =>
        ops.some((op) => 'change' in op) && acted.size ? Promise.reject(new Error('crash')) : disk.write(ops),
    }
    await expect(drain(dying, client, 'ann')).rejects.toThrow('crash')
    disk.close()
    disk = await openDisk()
    expect((await queued(disk, 'ann'))[0]).toMatchObject({ state: 'waiting', tried: 1 })
    await drain(disk, client, 'ann')
    expect(acted.size).toBe(1)
    expect(await states()).toEqual([['one', 'sent']])
  })
  it('does not think that it never went what may have arrived: no withdrawing', async () => {
    const { client } = service(() => true)
    await put('one')
    await drain(disk, client, 'ann')
    expect(await takeOut(disk, await queued(disk, 'ann'))).toBe(false)
    expect(await states()).toEqual([['one', 'waiting']])
  })
  it('one refused stops only those after it; mended, they go', async () => {
    const { client, acted, refuse } = service()
    refuse.add('bad')
    await put('first')
    await enqueue(
      disk,
      ANN,
      'pair',
      prepare([{ kind: 'bad', body: {} } as never, { kind: 'follower', body: {} } as never]),
    )
    await put('last')
    await drain(disk, client, 'ann')
    expect([...acted.values()].map((c) => c.kind)).toEqual(['first', 'last'])
    const items = await queued(disk, 'ann')
    expect(blocked(items).size).toBe(1)
    expect(items.map((i) => i.state)).toEqual(['sent', 'refused', 'waiting', 'sent'])
    refuse.clear()
    const bad = items[1] as Item
    await disk.write([{ change: 'outbox', key: bad.seq, to: (o: Item) => ({ ...o, state: 'waiting' }) }])
    await drain(disk, client, 'ann')
    expect([...acted.values()].map((c) => c.kind)).toEqual(['first', 'last', 'bad', 'follower'])
  })
  it('a conflict waits for a person, with the other side', async () => {
    const { client } = service()
    await put('piece.return')
    await put('other')
    await drain(disk, client, 'ann')
    const [conflict] = await queued(disk, 'ann')
    expect(conflict).toMatchObject({ state: 'conflict', current: { rev: 9 } })
    expect(await states()).toEqual([
      ['piece.return', 'conflict'],
      ['other', 'sent'],
    ])
  })
  it('two tabs at once, without a lock between them, still act once', async () => {
    const { client, acted, batches } = service()
    await put('one')
    await put('two')
    await Promise.all([drain(disk, client, 'ann'), drain(await openDisk(), client, 'ann')])
    expect(acted.size).toBe(2)
    expect(batches.length).toBeGreaterThanOrEqual(1)
    expect((await states()).map(([, s]) => s)).toEqual(['sent', 'sent'])
  })
  it('a batch that the server does not read is tried one by one', async () => {
    const acted: string[] = []
    const fetch: typeof globalThis.fetch = (_, init) => {
      const { commands } = JSON.parse(String(init?.body)) as { commands: Command[] }
      if (commands.some((c) => c.kind === 'poison'))
        return Promise.resolve(new Response('{"code":"body-bad","title":"Cannot be read"}', { status: 400 }))
      acted.push(...commands.map((c) => c.kind))
      const answers = commands.map((c) => ({ id: c.id, outcome: 'applied', revision: 1 }))
      return Promise.resolve(new Response(JSON.stringify({ revision: 1, answers }), { status: 200 }))
    }
    for (const kind of ['a', 'poison', 'b']) await put(kind)
    expect(await drain(disk, new Client({ fetch }), 'ann')).toBeNull()
    expect(acted).toEqual(['a', 'b'])
    expect((await states()).map(([, s]) => s)).toEqual(['sent', 'refused', 'sent'])
  })
  it('never sends what another member queued on this browser', async () => {
    const { client, acted } = service()
    await put('anns')
    await put('bobs', BOB)
    await signedIn('bob')
    expect((await drain(disk, client, 'ann'))?.status).toBe(401)
    expect(acted.size).toBe(0)
    await drain(disk, client, 'bob')
    expect([...acted.values()].map((c) => c.kind)).toEqual(['bobs'])
    expect(await states('ann')).toEqual([['anns', 'waiting']])
  })
  it('sends nothing after the server ended the sign-in, and keeps everything', async () => {
    const { client, acted } = service()
    await put('one')
    await signedIn('ann', true)
    expect((await drain(disk, client, 'ann'))?.status).toBe(401)
    expect(acted.size).toBe(0)
    expect(await states()).toEqual([['one', 'waiting']])
  })
})

describe('photos', () => {
  it('go after the act that names them, and leave the phone when the server has them', async () => {
    const { client, acted, photos } = service()
    await disk.write([{ put: 'photos', value: photo('p1') }])
    await put('defect.report', ANN, ['p1'])
    expect(await disk.all<Photo>('photos')).toHaveLength(1)
    await drain(disk, client, 'ann')
    expect([acted.size, [...photos]]).toEqual([1, ['p1']])
    expect(await disk.all('photos')).toEqual([])
  })
  it('let an act go in between', async () => {
    const { client, photos, acted } = service()
    await disk.write([
      { put: 'photos', value: photo('p1') },
      { put: 'photos', value: photo('p2') },
    ])
    await put('defect.report', ANN, ['p1', 'p2'])
    const order: string[] = []
    const queueAnother = async () => {
      order.push(`${acted.size} acts, ${photos.size} photos`)
      if (photos.size === 1 && acted.size === 1) await put('urgent')
    }
    let pending = Promise.resolve()
    const slow = { ...disk, all: async <T>(name: Name) => (await pending, disk.all<T>(name)) }
    await drain(slow, client, 'ann', () => void (pending = pending.then(queueAnother)))
    expect(order).toEqual(['1 acts, 0 photos', '1 acts, 1 photos', '2 acts, 1 photos', '2 acts, 2 photos'])
  })
  it('wait while the act was refused, and go away with it', async () => {
    const { client, refuse, photos } = service()
    refuse.add('defect.report')
    await disk.write([{ put: 'photos', value: photo('p1') }])
    await put('defect.report', ANN, ['p1'])
    await drain(disk, client, 'ann')
    expect(photos.size).toBe(0)
    const items = await queued(disk, 'ann')
    expect(await takeOut(disk, chain(items, items[0] as Item))).toBe(true)
    expect(await disk.all('photos')).toEqual([])
    expect(await states()).toEqual([])
  })
  it('stay for the form that is still open when its act was refused', async () => {
    const { client, refuse } = service()
    refuse.add('defect.report')
    await disk.write([{ put: 'photos', value: photo('p1') }])
    await put('defect.report', ANN, ['p1'])
    await drain(disk, client, 'ann')
    expect(await takeOut(disk, await queued(disk, 'ann'), true)).toBe(true)
    expect((await disk.all<Photo>('photos')).map((one) => one.for)).toEqual([[]])
  })
  it('of an unfinished form stay a day', async () => {
    const { client } = service()
    await disk.write([
      { put: 'photos', value: photo('new') },
      { put: 'photos', value: { ...photo('old'), at: Date.now() - 25 * 3_600_000 } },
    ])
    await drain(disk, client, 'ann')
    expect((await disk.all<Photo>('photos')).map((p) => p.sha)).toEqual(['new'])
  })
})

describe('the disk', () => {
  it('a new version of the store keeps the outbox', async () => {
    await put('one')
    disk.close()
    disk = await openDisk(VERSION + 1)
    expect(disk.lasting).toBe(true)
    expect(await states()).toEqual([['one', 'waiting']])
    expect((await put('two'))[0]?.seq).toBe(2)
  })
  it('an older app beside a newer store works in memory and harms nothing', async () => {
    await put('one')
    disk.close()
    const newer = await openDisk(VERSION + 1)
    newer.close()
    expect((await openDisk(VERSION)).lasting).toBe(false)
    disk = await openDisk(VERSION + 1)
    expect(await states()).toEqual([['one', 'waiting']])
  })
  it('all changes of one write happen or none', async () => {
    const ops: Op[] = [
      { put: 'photos', value: photo('p') },
      { put: 'meta', key: 'x', value: { cannot: () => {} } },
    ]
    await expect(disk.write(ops)).rejects.toThrow()
    expect(await disk.all('photos')).toEqual([])
  })
  it('signing out wipes what is one’s own; a revoked device keeps nothing at all', async () => {
    await put('anns')
    await put('bobs', BOB)
    await disk.write([
      { put: 'photos', value: photo('a') },
      { put: 'photos', value: photo('b', 'bob') },
    ])
    await forget(disk, 'ann')
    expect(await states('ann')).toEqual([])
    expect(await states('bob')).toEqual([['bobs', 'waiting']])
    expect((await disk.all<Photo>('photos')).map((p) => p.owner)).toEqual(['bob'])
    expect(await disk.get('meta', 'session')).toBeUndefined()
    await forgetAll(disk)
    expect([await disk.all('outbox'), await disk.all('photos')]).toEqual([[], []])
  })
  it('without storage the same works in memory', async () => {
    disk = memory()
    await signedIn('ann')
    const { client, acted } = service()
    await put('one')
    await put('two')
    await drain(disk, client, 'ann')
    expect(acted.size).toBe(2)
    expect((await states()).map(([, s]) => s)).toEqual(['sent', 'sent'])
  })
})
