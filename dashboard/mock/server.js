// Development only: serves dist/ and a small imitation of the contract from memory. Not part of the product.
import { createReadStream, existsSync, statSync } from 'node:fs'
import { createServer } from 'node:http'
import path from 'node:path'
import { fileURLToPath } from 'node:url'
import { MAY } from './commands.js'
import { fieldDoor } from './field.js'
import { readRegister } from './imports.js'
import { makePast, pastDoor } from './past.js'
import { planDoor } from './plans.js'
import { reservesDoor } from './reserves.js'
import { makeWorld } from './world.js'

const port = Number(process.env.PORT ?? 8099)
const dist = path.join(path.dirname(fileURLToPath(import.meta.url)), '..', 'dist')
const world = makeWorld()
const past = makePast(world)
const sessions = new Map()
const TYPES = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript',
  '.css': 'text/css',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
  '.wasm': 'application/wasm',
  '.webmanifest': 'application/manifest+json',
  '.wasm': 'application/wasm',
}

const json = (res, status, body, headers = {}) => {
  res.writeHead(status, {
    'content-type': status < 400 ? 'application/json' : 'application/problem+json',
    ...headers,
  })
  res.end(body === undefined ? '' : JSON.stringify(body))
}
const problem = (res, status, code, detail, hint) =>
  json(res, status, { type: `urn:fullset:${code}`, title: detail, status, code, detail, hint })
const bytesOf = (req) =>
  new Promise((resolve) => {
    const parts = []
    req.on('data', (d) => parts.push(d))
    req.on('end', () => resolve(Buffer.concat(parts)))
  })
const read = async (req) => (await bytesOf(req)).toString('utf8')
const cookie = (req) => /fs_access=([^;]+)/.exec(req.headers.cookie ?? '')?.[1]

createServer(async (req, res) => {
  const url = new URL(req.url, 'http://mock')
  if (!url.pathname.startsWith('/v1/')) return file(url.pathname, res)
  const { member = null, device = null } = sessions.get(cookie(req)) ?? {}
  const known = member ?? device
  const agency = world.all('agency')[0]
  const route = `${req.method} ${url.pathname}`
  const open = (who, device) => {
    const key = crypto.randomUUID()
    sessions.set(key, { member: who, device })
    const cookies = { 'set-cookie': `fs_access=${key}; HttpOnly; SameSite=Strict; Path=/` }
    json(res, 200, { member: who, device, agency, may: MAY[who?.role ?? 'crew'], expires_in: 900 }, cookies)
  }
  if (route === 'POST /v1/session') {
    const { email, password } = JSON.parse(await read(req))
    const found = world.all('member').find((m) => m.email === email)
    if (!found || password !== 'fullset-demo')
      return problem(res, 401, 'sign-in-failed', 'E-mail and password do not belong together.')
    return open(found, null)
  }
  const answer = await fieldDoor({
    route,
    url,
    world,
    member: known,
    bytes: () => bytesOf(req),
    origin: `http://${req.headers.host}`,
    open,
  })
  if (answer) {
    if (!answer.bytes) return json(res, answer.status, answer.body)
    res.writeHead(200, { 'content-type': answer.type })
    return res.end(answer.bytes)
  }
  if (!answer && res.writableEnded) return
  if (route === 'POST /v1/session/refresh')
    return known ? json(res, 200, {}) : problem(res, 401, 'signed-out', 'Sign in again.')
  if (!known) return problem(res, 401, 'signed-out', 'Sign in first.')
  if (await planDoor({ req, res, route, world, known, json, read })) return
  const planned = await reservesDoor(route, url, world, () => read(req))
  if (planned) return json(res, 200, planned)
  if (route === 'DELETE /v1/session') {
    sessions.delete(cookie(req))
    return json(res, 204)
  }
  if (route === 'GET /v1/session')
    return json(res, 200, { member, device, agency, may: MAY[member?.role ?? 'crew'] })
  if (route === 'GET /v1/changes') {
    const since = url.searchParams.get('since')
    const [rev, offset] = (since ?? '0.0').split('.').map(Number)
    return json(res, 200, world.changes(rev, Number(url.searchParams.get('limit') ?? 500), offset))
  }
  if (route === 'GET /v1/changes/live') {
    res.writeHead(200, { 'content-type': 'text/event-stream', 'cache-control': 'no-store' })
    const tell = (revision) =>
      res.write(`id: ${revision}\nevent: revision\ndata: {"revision":${revision}}\n\n`)
    tell(world.revision)
    world.listeners.add(tell)
    const beat = setInterval(() => res.write(': beat\n\n'), 15_000)
    req.on('close', () => {
      clearInterval(beat)
      world.listeners.delete(tell)
    })
    return
  }
  if (route === 'POST /v1/commands') {
    const { commands } = JSON.parse(await read(req))
    const failed = new Set()
    const answers = commands.map((command) => {
      const answer = failed.has(command.after)
        ? {
            id: command.id,
            outcome: 'refused',
            problem: {
              title: 'Refused',
              status: 422,
              code: 'after-refused',
              detail: 'The step before it was refused.',
            },
          }
        : world.command(
            member ?? world.get('member', command.by?.member) ?? { role: 'crew', name: 'nobody' },
            command,
          )
      if (answer.outcome === 'refused' || answer.outcome === 'conflict') failed.add(command.id)
      return answer
    })
    return json(res, 200, { revision: world.revision, answers })
  }
  if (route === 'POST /v1/imports') {
    const text = await read(req)
    const mapping = req.headers['x-fullset-columns'] ? JSON.parse(req.headers['x-fullset-columns']) : null
    const dry = url.searchParams.get('dry_run') === 'true'
    const work = () => readRegister(world, text, url.searchParams.get('file_name') ?? 'file', dry, mapping)
    return json(res, 200, dry ? work() : world.write(work))
  }
  if (route === 'GET /v1/register.csv') {
    res.writeHead(200, {
      'content-type': 'text/csv',
      'content-disposition': 'attachment; filename="register.csv"',
    })
    return res.end(
      ['tag,kind,serial', ...world.all('piece').map((p) => `${p.tag},${p.kind},${p.serial}`)].join('\r\n'),
    )
  }
  const then = pastDoor(route, url, world, past)
  if (then) return json(res, then.status, then.body)
  const [, , noun, id, what] = url.pathname.split('/')
  if (what === 'history') {
    const items = world.journal.filter((j) => j.about.has(id)).map(({ about: _, ...item }) => (void _, item))
    return json(res, 200, { items: items.slice(0, 15), next: null })
  }
  if (noun === 'rigs' && what === 'stand-ins')
    return json(res, 200, { items: standIns(id, url.searchParams.get('slot')) })
  return problem(res, 404, 'not-found', 'The mock has no such door.')
}).listen(port, '127.0.0.1', () =>
  console.log(`mock on http://127.0.0.1:${port}, sign in as chief@vellmere.example with fullset-demo`),
)

function standIns(rigId, slotId) {
  const rig = world.get('rig', rigId)
  const slots = world.get('rig_class', rig?.rig_class)?.complement.slots ?? []
  const slot = slots.find((s) => s.id === slotId)
  if (!slot) return []
  const cap = world.get('capability', rigId)
  const rest = cap.gaps.filter((g) => g.need !== 'optional' && g.slot !== slotId).length
  return world
    .all('piece')
    .filter(
      (p) =>
        slot.kinds.includes(p.kind) &&
        p.state === 'in_service' &&
        !(p.place.at === 'rig' && p.place.rig === rigId),
    )
    .map((p, i) => {
      const from = p.place.at === 'rig' ? world.get('rig', p.place.rig) : null
      const fits = world.get('model', p.model).hookup.coupling !== 'twin quick'
      return {
        piece: p.id,
        tag: p.tag,
        model: p.model,
        rev: p.rev,
        place: p.place,
        station: from?.station ?? p.place.station ?? null,
        distance_km: p.place.at === 'shelf' || from ? 3.2 + ((i * 37) % 23) : null,
        restores: fits && !rest ? 'full' : cap.level,
        words: fits
          ? rest
            ? 'fits, other slots stay open'
            : 'fits this pump; fills the last gap'
          : 'coupling does not mate with this pump',
        leaves: from ? `${from.name} drops to limited` : null,
      }
    })
    .sort(
      (a, b) =>
        Number(Boolean(a.leaves)) - Number(Boolean(b.leaves)) ||
        (a.distance_km ?? 999) - (b.distance_km ?? 999),
    )
}

function file(name, res) {
  const wanted = path.join(dist, path.normalize(name))
  const found = wanted.startsWith(dist) && existsSync(wanted) && statSync(wanted).isFile()
  if (!found && name.startsWith('/assets/')) return problem(res, 404, 'not-found', 'No such file.')
  const target = found ? wanted : path.join(dist, 'index.html')
  res.writeHead(200, {
    'content-type': TYPES[path.extname(target)] ?? 'application/octet-stream',
    'cache-control': 'no-cache',
    // As the server does, so that what it forbids fails here too.
    'content-security-policy':
      "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; worker-src 'self'; media-src 'self' blob:; img-src 'self' data: blob:; style-src 'self' 'unsafe-inline'; frame-ancestors 'none'; base-uri 'none'; form-action 'self'",
  })
  createReadStream(target).pipe(res)
}
