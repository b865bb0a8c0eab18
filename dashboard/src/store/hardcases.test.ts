// The hard cases that every client is held to, played from openapi/hard-cases/*.jsonl against what the phone really runs:
// the client, the outbox and the copy on the disk.
import 'fake-indexeddb/auto'
import { Client, ephemeral, isLost, sha256, upload, type Command, type Problem } from 'fullset-client'
import { keyOf, plausible, sign, type Signer } from 'fullset-client/sign'
import { existsSync, readdirSync, readFileSync } from 'node:fs'
import path from 'node:path'
import { fileURLToPath } from 'node:url'
import { describe, expect, it } from 'vitest'
import { catchUp } from './catchup'
import { Copy } from './copy'
import { openDisk } from './disk'
import { forgetAll } from './forget'
import { blocked, drain, enqueue, queued } from './queue'
import { Replica } from './replica'

const here = path.dirname(fileURLToPath(import.meta.url))
const folder = process.env['HARD_CASES'] ?? path.join(here, '../../../openapi/hard-cases')
const names = existsSync(folder) ? readdirSync(folder).filter((name) => name.endsWith('.jsonl')) : []

type Json = Record<string, unknown>
interface Exchange {
  asked: { method: string; path: string; query?: Json; headers?: Json; body?: Json }
  answer:
    | 'none'
    | { status: number; headers?: Record<string, string>; body?: Json; text?: string; short_by?: number }
}
interface Act {
  act: 'push' | 'pull' | 'sign_in' | 'photo' | 'sign' | 'enrol'
  text?: string
  commands?: Command[]
  email?: string
  password?: string
  code?: string
  device?: string | { id: string; name: string }
  member?: string
  pin?: string
}
interface Undone {
  id: string
  outcome: string
  code?: string
  current?: Json
}
interface Holds {
  ended?: string
  records?: Record<string, Record<string, Json>>
  stubs?: Record<string, Record<string, string>>
  waiting?: string[]
  undone?: Undone[]
}

describe.skipIf(!names.length)('the hard cases', () => {
  for (const name of names) {
    it(name.replace('.jsonl', ''), async () => {
      const lines = readFileSync(path.join(folder, name), 'utf8').split('\n').filter(Boolean)
      const script = lines.map((line) => JSON.parse(line) as Json)
      const given = (script.find((l) => 'given' in l)?.['given'] ?? {}) as { scope?: string; tries?: number }
      await play(script, given.scope ?? 'agency', given.tries ?? 8, name)
    })
  }
})

async function play(script: Json[], scope: string, tries: number, name: string) {
  const expected: Exchange[] = []
  const keys = ephemeral()
  keys.write({ access: 'a1', refresh: 'r1' })
  const client = new Client({ keys, fetch: (url, init) => respond(expected.shift(), String(url), init) })
  let wiped = false
  client.onRevoked = () => (wiped = true)
  const store = await openDisk()
  await forgetAll(store)
  await store.write([{ put: 'meta', key: 'session', value: { owner: name, session: {}, ended: false } }])
  const copy = new Copy(store, name, scope)
  let replica = new Replica()

  const push = async (commands: Command[]): Promise<Problem | null> => {
    // The case's commands are put there one by one: each has its own `after`.
    for (const command of commands)
      await enqueue(store, { owner: name, ownerName: 'Sam' }, command.kind, [command])
    return patiently(() => drain(store, client, name))
  }
  let signers: Signer[] = []
  async function signed({ member, pin = '', device, commands = [] }: Act): Promise<Problem | null> {
    const reply = await client.any<{ items: Signer[] }>('GET', '/v1/signers')
    if (reply.ok) signers = reply.data.items
    const signer = signers.find((one) => one.member === member)
    const key = signer && (await keyOf(pin, signer))
    if (!key || !(await plausible(key, signer))) return { code: 'mistyped', title: 'Not the PIN', status: 0 }
    const by = (command: Command) => sign(command, String(device), signer.member, key)
    return push((await Promise.all(commands.map(by))) as Command[])
  }
  const pull = () =>
    patiently(async () => {
      await copy.look()
      return catchUp(copy, client, {
        wanted: () => true,
        page: (_, page) => void replica.apply(page),
        snapshot: (whole) => (replica = whole),
      })
    })
  async function patiently(work: () => Promise<Problem | null>): Promise<Problem | null> {
    for (let left = tries; ;) {
      const before = expected.length
      const problem = await work()
      if (!problem || !(isLost(problem) || problem.status === 429)) return problem
      // Patience is counted for one request: one that was answered in between starts anew.
      left = before - expected.length > 1 ? tries - 1 : left - 1
      if (left <= 0) return problem
    }
  }

  for (let at = 0; at < script.length; at++) {
    const act = script[at] as unknown as Act
    if (!act.act) continue
    for (let i = at + 1; script[i] && 'asked' in (script[i] as Json); i++)
      expected.push(script[i] as unknown as Exchange)
    let problem: Problem | null = null
    if (act.act === 'push') problem = await push(act.commands ?? [])
    else if (act.act === 'pull') problem = await pull()
    else if (act.act === 'photo') {
      const bytes = new TextEncoder().encode(act.text)
      const name = await sha256(bytes)
      problem = await patiently(async () => {
        const done = await upload(client, name, bytes.buffer, 'image/jpeg')
        return done.ok ? null : done.problem
      })
    } else if (act.act === 'sign') problem = await signed(act)
    else if (act.act === 'enrol') {
      const reply = await client.redeem(act.code ?? '', act.device as { id: string; name: string })
      problem = reply.ok ? null : reply.problem
    } else {
      const reply = await client.signIn(act.email ?? '', act.password ?? '')
      problem = reply.ok ? null : reply.problem
    }
    expect(expected, 'requests that never came').toEqual([])
    const next = script.slice(at + 1).find((l) => 'holds' in l || 'act' in l)
    if (next && 'holds' in next) await held(next['holds'] as Holds, problem)
  }
  store.close()

  async function held(holds: Holds, problem: Problem | null) {
    if (holds.ended) expect(wiped ? 'wipe' : ended(problem)).toBe(holds.ended)
    const items = await queued(store, name)
    const stuck = blocked(items)
    if (holds.waiting) {
      const waiting = items.filter((i) => i.state === 'waiting' && !stuck.has(i.id))
      expect(waiting.map((i) => i.id)).toEqual(holds.waiting)
    }
    if (holds.undone) {
      const shown = items.filter((i) => i.state === 'refused' || i.state === 'conflict' || stuck.has(i.id))
      expect(shown.map((i) => i.id)).toEqual(holds.undone.map((u) => u.id))
      for (const [i, want] of holds.undone.entries()) {
        const item = shown[i]
        if (want.outcome === 'conflict') expect(item?.state).toBe('conflict')
        // A word of tomorrow is shown like a refusal.
        else expect(item?.state === 'refused' || stuck.has(item?.id ?? '')).toBe(true)
        if (want.current) expect(item?.current).toMatchObject(want.current)
        if (want.code && !stuck.has(item?.id ?? '')) expect(item?.problem?.code).toBe(want.code)
      }
    }
    if (holds.records) {
      await copy.look()
      const kept = copy.kept ? await copy.load(copy.kept) : new Replica()
      for (const source of [replica, kept]) {
        for (const [kind, records] of Object.entries(holds.records)) {
          const rows = Object.fromEntries(source.kind(kind))
          expect(Object.keys(rows).sort()).toEqual(Object.keys(records).sort())
          expect(rows).toMatchObject(records)
        }
        for (const [kind, names] of Object.entries(holds.stubs ?? {}))
          for (const [id, name] of Object.entries(names)) expect(source.stub(kind, id)).toBe(name)
      }
    }
  }
}

function ended(problem: Problem | null): string {
  if (!problem) return 'done'
  if (problem.code === 'mistyped') return 'pin'
  if (problem.code === 'code-unknown') return 'refused'
  if (problem.status === 401) return 'sign-in'
  if (problem.code === 'scope-gone') return 'scope'
  return problem.status === 426 ? 'too-old' : 'later'
}

async function respond(
  exchange: Exchange | undefined,
  url: string,
  init: RequestInit | undefined,
): Promise<Response> {
  const at = new URL(url, 'http://service')
  if (!exchange) throw new Error(`not expected: ${init?.method} ${url}`)
  const { asked, answer } = exchange
  expect([init?.method, at.pathname]).toEqual([asked.method, asked.path])
  for (const [name, value] of Object.entries(asked.query ?? {}))
    expect(at.searchParams.get(name)).toEqual(value)
  for (const [name, value] of Object.entries(asked.headers ?? {}))
    expect((init?.headers as Json)[name.toLowerCase()]).toEqual(value)
  if (asked.body) expect(JSON.parse(String(init?.body))).toMatchObject(asked.body)
  if (answer === 'none') throw new TypeError('network')
  const { status, headers = { 'content-type': 'application/json' } } = answer
  if (answer.short_by) {
    const broken = new ReadableStream<Uint8Array>({
      start(stream) {
        stream.enqueue(new TextEncoder().encode(answer.text))
        stream.error(new TypeError('network'))
      },
    })
    return new Response(broken, { status, headers })
  }
  const text = answer.text ?? (answer.body && JSON.stringify(answer.body))
  return new Response(text, { status, headers })
}
