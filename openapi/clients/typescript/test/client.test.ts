import { createHash, createHmac, pbkdf2Sync } from 'node:crypto'
import { describe, expect, it } from 'vitest'
import { Client, ephemeral, FeedProblem, follow, prepare, push, RESYNC, sha256, upload } from '../src'
import { base64url, keyOf, plausible, sign } from '../src/sign'
import { json, server } from './server'

const problem = (status: number, code: string) => json(status, { code, title: code, status })

describe('the session', () => {
  it('renews a spent access token once, for all who wait, and asks again', async () => {
    let good = 'one'
    const { asked, fetch } = server(({ path, headers }) => {
      if (path === '/v1/session/refresh') {
        good = 'two'
        return json(200, { access_token: 'two', refresh_token: 'r2' })
      }
      return headers['authorization'] === `Bearer ${good}` && good === 'two'
        ? json(200, { fine: true })
        : problem(401, 'token-spent')
    })
    const keys = ephemeral()
    keys.write({ access: 'one', refresh: 'r1' })
    const client = new Client({ fetch, keys })
    const replies = await Promise.all([client.GET('/v1/board'), client.GET('/v1/board')])
    expect(replies.every((r) => r.ok)).toBe(true)
    expect(asked.filter((a) => a.path === '/v1/session/refresh')).toHaveLength(1)
    expect(keys.read()).toEqual({ access: 'two', refresh: 'r2' })
    expect(asked.every((a) => a.headers['fullset-protocol'] === '1')).toBe(true)
  })
  it('says when the sign-in ended: renewing did not help', async () => {
    const { asked, fetch } = server(() => problem(401, 'session-ended'))
    const client = new Client({ fetch, keys: ephemeral() })
    let out = 0
    client.onSignedOut = () => out++
    const reply = await client.GET('/v1/session')
    expect(reply.ok ? null : reply.problem.code).toBe('session-ended')
    expect([out, asked.length]).toEqual([1, 2])
  })
  it('a revoked device is told to wipe, not to sign in again', async () => {
    const { fetch } = server(() => problem(401, 'device-revoked'))
    const client = new Client({ fetch, keys: ephemeral() })
    const told: string[] = []
    client.onRevoked = () => told.push('revoked')
    client.onSignedOut = () => told.push('out')
    await client.GET('/v1/session')
    expect(told).toEqual(['revoked'])
  })
  it('no signal while renewing signs nobody out', async () => {
    const { fetch } = server(({ path }) => (path.endsWith('refresh') ? 'lost' : problem(401, 'token-spent')))
    const client = new Client({ fetch, keys: ephemeral() })
    let out = false
    client.onSignedOut = () => (out = true)
    await client.GET('/v1/session')
    expect(out).toBe(false)
  })
})

describe('commands', () => {
  it('are a chain, and go out again under the same ids when the answer is lost', async () => {
    const commands = prepare([
      { kind: 'a', body: { id: '1' } } as never,
      { kind: 'b', body: { id: '2' }, expects: 7 } as never,
    ])
    expect(commands[1]).toMatchObject({ after: commands[0]?.id, expects: 7 })
    let tries = 0
    const { asked, fetch } = server(() => (++tries < 3 ? 'lost' : json(200, { revision: 9, answers: [] })))
    const reply = await push(new Client({ fetch }), commands, 3, 1)
    expect(reply.ok && reply.data.revision).toBe(9)
    const ids = asked.map((a) =>
      (JSON.parse(a.body as string) as { commands: { id: string }[] }).commands.map((c) => c.id),
    )
    expect(ids).toEqual([ids[0], ids[0], ids[0]])
  })
  it('that the server answers are not sent again, whatever the answer', async () => {
    const { asked, fetch } = server(() => problem(426, 'client-too-old'))
    const reply = await push(new Client({ fetch }), prepare([{ kind: 'a', body: {} } as never]), 3, 1)
    expect(reply.ok ? '' : reply.problem.code).toBe('client-too-old')
    expect(asked).toHaveLength(1)
  })
})

describe('the feed', () => {
  it('follows next to the end and names its scopes', async () => {
    const { asked, fetch } = server(({ path }) => {
      const since = new URL(path, 'http://x').searchParams.get('since')
      return json(200, { revision: 3, changes: [], next: since ? 't2' : 't1', more: !since })
    })
    const tokens: string[] = []
    for await (const page of follow(new Client({ fetch }), { scopes: ['station:a', 'rig:b'] }))
      tokens.push(page.next)
    expect(tokens).toEqual(['t1', 't2'])
    expect(asked[0]?.path).toBe('/v1/changes?scope=station%3Aa%2Crig%3Ab&limit=500')
  })
  it('says when a new snapshot is needed', async () => {
    const { fetch } = server(() => problem(410, RESYNC))
    const pages = follow(new Client({ fetch }), { since: 'old' })
    await expect(pages.next()).rejects.toBeInstanceOf(FeedProblem)
  })
})

/** Takes parts as the contract says, and can lose answers or forget. */
function photoServer(lose: (nth: number) => boolean = () => false) {
  const parts: Uint8Array[] = []
  let stored = false
  let nth = 0
  const size = () => parts.reduce((sum, part) => sum + part.length, 0)
  const rules = server(async ({ method, headers, body }) => {
    const at = { 'upload-offset': String(size()) }
    if (method === 'HEAD') return new Response(null, { status: stored ? 200 : 404, headers: at })
    const bytes = new Uint8Array(body as ArrayBuffer)
    const range = /^bytes (\d+)-(\d+)\/(\d+)$/.exec(headers['content-range'] ?? '')
    const total = range ? Number(range[3]) : bytes.length
    if (range && Number(range[1]) !== size()) return new Response(null, { status: 409, headers: at })
    parts.push(bytes)
    stored = size() === total
    const answer = new Response(null, {
      status: stored ? 201 : 202,
      headers: { 'upload-offset': String(size()) },
    })
    return lose(nth++) ? 'lost' : answer
  })
  return { ...rules, bytes: () => Uint8Array.from(parts.flatMap((p) => [...p])), stored: () => stored }
}

describe('photos', () => {
  const bytes = Uint8Array.from({ length: 1000 }, (_, i) => i % 251).buffer
  it('go up in parts, and on from where a broken upload stopped', async () => {
    const { fetch, ...there } = photoServer((nth) => nth === 1)
    const client = new Client({ fetch })
    const sha = await sha256(bytes)
    const first = await upload(client, sha, bytes, 'image/jpeg', 300)
    expect(first.ok).toBe(false)
    expect(await upload(client, sha, bytes, 'image/jpeg', 300)).toEqual({ ok: true })
    expect(there.stored()).toBe(true)
    expect(await sha256(there.bytes())).toBe(sha)
    const ranges = there.asked.filter((a) => a.method === 'PUT').map((a) => a.headers['content-range'])
    expect(ranges).toEqual([
      'bytes 0-299/1000',
      'bytes 300-599/1000',
      'bytes 600-899/1000',
      'bytes 900-999/1000',
    ])
  })
  it('that the server has are not sent', async () => {
    const { asked, fetch } = server(() => new Response(null, { status: 200 }))
    expect(await upload(new Client({ fetch }), 'a', bytes, 'image/jpeg')).toEqual({ ok: true })
    expect(asked.map((a) => a.method)).toEqual(['HEAD'])
  })
  it('that the server refuses say why', async () => {
    const { fetch } = server(({ method }) =>
      method === 'HEAD' ? problem(404, 'photo-awaited') : problem(507, 'photo-quota'),
    )
    const done = await upload(new Client({ fetch }), 'a', bytes, 'image/jpeg')
    expect(done.ok ? '' : done.problem.code).toBe('photo-quota')
  })
})

describe('signing on a shared tablet', () => {
  const salt = Buffer.alloc(16, 7)
  const secret = pbkdf2Sync('482913', salt, 600_000, 32, 'sha256')
  const signer = {
    salt: salt.toString('base64url'),
    iterations: 600_000,
    check: createHmac('sha256', secret).update('check').digest('hex').slice(0, 2),
  }
  it('makes the signature that the contract describes', async () => {
    const [command] = prepare([{ kind: 'defect.note', body: { id: 'd', text: 'Größer' } }])
    if (!command) throw new Error('no command')
    const key = await keyOf('482913', signer)
    expect(await plausible(key, signer)).toBe(true)
    const signed = await sign(command, 'device-1', 'member-1', key)
    const body = createHash('sha256').update(JSON.stringify(command.body)).digest('hex')
    const said = `${command.id}\ndefect.note\ndevice-1\n${body}`
    expect(signed.by).toEqual({
      member: 'member-1',
      check: createHmac('sha256', secret).update('check').digest('hex').slice(0, 16),
      signature: createHmac('sha256', secret).update(said).digest('base64url'),
    })
    const sent = JSON.stringify({ commands: [signed] })
    expect(sent).toContain(`"body":${JSON.stringify(command.body)}`)
  })
  it('agrees with the example of sync.md', async () => {
    const example = { salt: 'AAECAwQFBgcICQoLDA0ODw', iterations: 600_000, check: '41' }
    const body = {
      id: '01936f2e-7b1c-7c11-8a55-2f7c1b0c9d11',
      piece: '01936f2e-7b1c-7c11-8a55-2f7c1b0c9d12',
      what: 'leak at the handle',
      class: 'leak',
      severity: 'out_of_service',
    }
    const command = { id: '01936f2e-7b1c-7c11-8a55-2f7c1b0c9d10', kind: 'defect.report', body }
    const made = await keyOf('482915', example)
    expect(await plausible(made, example)).toBe(true)
    const signed = await sign(command, '01936f2e-7b1c-7c11-8a55-2f7c1b0c9d20', 'm', made)
    expect(signed.by?.check).toBe('41e47678c619f270')
    expect(signed.by?.signature).toBe('ZUoJhsFomLnyay8pwibzwtl71fFQ_yq-ZULTg2ria5A')
  })
  it('takes a salt in hex too, and catches a wrong PIN without a signal', async () => {
    const key = await keyOf('482913', { ...signer, salt: salt.toString('hex') })
    expect(await plausible(key, signer)).toBe(true)
    const wrong = await keyOf('482914', signer)
    const other = createHmac('sha256', pbkdf2Sync('482914', salt, 600_000, 32, 'sha256'))
      .update('check')
      .digest('hex')
    expect(await plausible(wrong, signer)).toBe(other.slice(0, 2) === signer.check)
  })
  it('writes base64 for addresses', () => {
    expect(base64url(Uint8Array.from([251, 255, 254]))).toBe('-__-')
  })
})
