import { afterEach, beforeEach, expect, it, vi } from 'vitest'
import type { Session } from '@/api/types'
import { session } from '@/store/session.svelte'
import { desk } from './desk.svelte'

const file = () => new File(['Asset tag,Kind\nT1,ram\n'], 'tools.csv', { type: 'text/csv' })
const run = (dry: boolean) => ({
  id: dry ? undefined : 'i',
  dry_run: dry,
  accepted: 1,
  refused: [],
  columns: [],
})

/** What was asked of the server, and what answers the next file. */
let asked: { method: string; path: string; key: string | null }[] = []
let answer: (body: object, status?: number) => void = () => {}

function json(body: object, status = 200) {
  return new Response(JSON.stringify(body), { status })
}
const who = (id: string) =>
  ({ member: { id }, device: null, may: [], agency: { id: 'a' } }) as unknown as Session

beforeEach(() => {
  asked = []
  vi.stubGlobal('fetch', (path: string, init: RequestInit) => {
    const method = init.method ?? 'GET'
    asked.push({ method, path, key: new Headers(init.headers).get('idempotency-key') })
    if (!path.startsWith('/v1/imports')) return Promise.resolve(json({ code: 'x', title: '' }, 503))
    if (method === 'POST')
      return new Promise((resolve) => {
        answer = (body, status) => resolve(json(body, status))
      })
    return Promise.resolve(json({ id: 'i', dry_run: false, stage: 'writing', rows_done: 1, rows: 2 }))
  })
  session.current = who('m1')
  desk.open()
  desk.watched = true
})
afterEach(() => {
  desk.clear()
  session.current = null
  desk.open()
  vi.unstubAllGlobals()
})
const sent = () => asked.filter((one) => one.method === 'POST' && one.path.startsWith('/v1/imports'))

it('asks how far it is under the key that the file was sent with, also where nobody looks', async () => {
  void desk.take(file())
  await vi.waitFor(() => expect(sent()).toHaveLength(1))
  answer(run(true))
  await vi.waitFor(() => expect(desk.dry?.accepted).toBe(1))
  void desk.run(false)
  await vi.waitFor(() => expect(sent()).toHaveLength(2))
  const [look, real] = sent()
  expect(look?.key).not.toBe(real?.key)
  // The person looks elsewhere and comes back.
  desk.leave()
  desk.open()
  expect([desk.busy, desk.name]).toEqual(['importing', 'tools.csv'])
  await vi.waitFor(() => expect(desk.progress?.rows_done).toBe(1), 3_000)
  expect(asked.at(-1)?.path).toBe(`/v1/imports/${real?.key}/progress`)
  answer(run(false), 201)
  await vi.waitFor(() => expect(desk.done?.id).toBe('i'))
  expect(desk.busy).toBe('')
  // What came meanwhile stays until somebody has seen it.
  desk.open()
  expect(desk.done?.id).toBe('i')
  const before = asked.length
  await new Promise((resolve) => setTimeout(resolve, 700))
  expect(asked.slice(before).filter((one) => one.path.endsWith('/progress'))).toEqual([])
  desk.leave()
  expect([desk.done, desk.name]).toEqual([null, ''])
})

it('sends a file under one key until it is imported, and under another one after', async () => {
  void desk.take(file())
  await vi.waitFor(() => expect(sent()).toHaveLength(1))
  answer(run(true))
  await vi.waitFor(() => expect(desk.busy).toBe(''))
  void desk.run(false)
  await vi.waitFor(() => expect(sent()).toHaveLength(2))
  answer({ code: 'busy', title: 'Busy' }, 503)
  await vi.waitFor(() => expect(desk.problem?.code).toBe('busy'))
  void desk.run(false)
  await vi.waitFor(() => expect(sent()).toHaveLength(3))
  answer(run(false), 201)
  await vi.waitFor(() => expect(desk.done).not.toBeNull())
  desk.again()
  void desk.run(false)
  await vi.waitFor(() => expect(sent()).toHaveLength(4))
  answer(run(false), 201)
  await vi.waitFor(() => expect(desk.busy).toBe(''))
  const [, first, second, third] = sent().map((one) => one.key)
  expect(first).toBe(second)
  expect(third).not.toBe(second)
})

it('shows nothing of it to another member', async () => {
  void desk.take(file())
  await vi.waitFor(() => expect(sent()).toHaveLength(1))
  session.current = who('m2')
  desk.open()
  expect([desk.name, desk.busy]).toEqual(['', ''])
  answer(run(true))
  await new Promise((resolve) => setTimeout(resolve, 20))
  expect(desk.dry).toBeNull()
})
