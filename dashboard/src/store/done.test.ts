// What became of what was reported: the last fifty are kept, and nothing is called sent that was not.
import 'fake-indexeddb/auto'
import { IDBFactory } from 'fake-indexeddb'
import { Client, prepare, type Command } from 'fullset-client'
import { beforeEach, describe, expect, it } from 'vitest'
import { takeOut } from './chain'
import { openDisk, type Disk } from './disk'
import { merged } from './done'
import { forget } from './forget'
import { doneKey, drain, enqueue, queued, type Done } from './queue'

const ANN = { owner: 'ann', ownerName: 'Ann' }
let disk: Disk
beforeEach(async () => {
  globalThis.indexedDB = new IDBFactory()
  disk = await openDisk()
  await disk.write([{ put: 'meta', key: 'session', value: { owner: 'ann', session: {}, ended: false } }])
})
const put = (kind: string) => enqueue(disk, ANN, kind, prepare([{ kind, body: { id: kind } } as never]))
const kept = async () => (await disk.get<Done[]>('meta', doneKey('ann'))) ?? []
const said = async () => (await kept()).map((one) => [one.words, one.how])
const server = new Client({
  fetch: (_, init) => {
    const { commands } = JSON.parse(String(init?.body)) as { commands: Command[] }
    const problem = { code: 'rule-broken', title: 'Not so', status: 422 }
    const answers = commands.map(({ id, kind }) =>
      kind === 'bad'
        ? { id, outcome: 'refused', problem }
        : kind === 'late'
          ? { id, outcome: 'conflict', current: { id, rev: 9 } }
          : { id, outcome: 'applied', revision: 5 },
    )
    return Promise.resolve(new Response(JSON.stringify({ revision: 5, answers }), { status: 200 }))
  },
})

describe('what was reported', () => {
  it('is on the list when the server has it, and not before', async () => {
    await put('one')
    expect(await said()).toEqual([])
    await drain(disk, server, 'ann')
    expect(await said()).toEqual([['one', 'sent']])
  })
  it('is called withdrawn, not accepted or overtaken when it was', async () => {
    for (const kind of ['bad', 'late']) await put(kind)
    await drain(disk, server, 'ann')
    expect(await said()).toEqual([])
    await put('slip')
    expect(await takeOut(disk, await queued(disk, 'ann'))).toBe(true)
    expect(await said()).toEqual([
      ['slip', 'withdrawn'],
      ['late', 'conflict'],
      ['bad', 'refused'],
    ])
    const [, late, bad] = await kept()
    expect([late?.current?.rev, bad?.problem?.title]).toEqual([9, 'Not so'])
  })
  it('is kept for the last fifty, and goes when the member signs out', async () => {
    for (let i = 0; i < 60; i += 1) await put(`n${i}`)
    await drain(disk, server, 'ann')
    expect(await kept()).toHaveLength(50)
    expect((await kept())[0]?.words).toBe('n59')
    await forget(disk, 'ann')
    expect(await kept()).toEqual([])
  })
  it('is one line for one act, which says the worst of its commands', () => {
    const one = (id: string, how: Done['how'], words = 'Return', queued_at = 1): Done => ({
      ...{ id, words, queued_at, at: 2, how },
    })
    const lines = merged([one('c', 'sent'), one('b', 'refused'), one('a', 'sent', 'Return', 0)])
    expect(lines.map(({ id, how }) => [id, how])).toEqual([
      ['b', 'refused'],
      ['a', 'sent'],
    ])
  })
})
