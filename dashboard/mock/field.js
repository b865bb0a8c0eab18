// What phones need beyond the desk: uses, photos, devices, enrolment, PINs. Development only, kept in memory.
import { createHash, createHmac, pbkdf2Sync, randomBytes } from 'node:crypto'
import { MAY, Refusal } from './commands.js'
import { nextId } from './agency.js'

for (const list of new Set(Object.values(MAY)))
  list.push(
    'use.record',
    'member.set_pin',
    ...(list.includes('piece.return') ? ['device.rename', 'device.revoke'] : []),
  )

const refuse = (code, detail, hint) => {
  throw new Refusal({ code, detail, hint })
}
const codes = new Map()
const pins = new Map()
const photos = new Map()
const TEN_MINUTES = 600_000

/** The commands of this file; undefined when it is another's. */
export function handleField(world, member, { kind, body, at }) {
  if (kind === 'use.record') {
    const rig = world.get('rig', body.rig) ?? refuse('not-found', 'No such rig.')
    world.save('use', {
      id: body.id,
      rig: rig.id,
      station: rig.station,
      pieces: body.pieces,
      what: body.what ?? null,
      incident: body.incident ?? null,
      minutes: body.minutes ?? null,
      used_at: at,
      recorded_by: member.name,
    })
    return `${rig.name}: ${body.pieces.length} pieces used`
  }
  if (kind === 'member.set_pin') {
    if (!/^\d{6}$/.test(body.pin)) refuse('rule-broken', 'A PIN has six digits.')
    const salt = randomBytes(16)
    pins.set(member.id, { salt, key: pbkdf2Sync(body.pin, salt, 600_000, 32, 'sha256') })
    return `${member.name} set a PIN`
  }
  if (kind === 'device.rename' || kind === 'device.revoke') {
    const device = world.get('device', body.id) ?? refuse('not-found', 'No such device.')
    if (kind === 'device.rename') world.save('device', { ...device, name: body.name })
    else world.save('device', { ...device, state: 'revoked' })
    return `${device.name}: ${kind}`
  }
  return undefined
}

/** Answers the addresses of this file; undefined when it is another's. `bytes` reads the body. */
export async function fieldDoor({ route, url, world, member, bytes, origin, open }) {
  const photo = /^(PUT|HEAD|GET) \/v1\/photos\/([0-9a-f]{64})(\/thumbnail)?$/.exec(route)
  if (photo && member) return photoDoor(photo[1], photo[2], await bytes())
  if (route === 'POST /v1/enrolments' && member) {
    const { kind, station } = JSON.parse(String(await bytes()))
    const letters = [...randomBytes(8)].map((b) => '23456789ABCDEFGHJKLMNPQRSTUVWXYZ'[b % 32]).join('')
    const code = `${letters.slice(0, 4)}-${letters.slice(4)}`
    const expires_at = new Date(Date.now() + TEN_MINUTES).toISOString()
    codes.set(code, { member, kind, station: station ?? null, until: Date.now() + TEN_MINUTES })
    return { status: 200, body: { code, url: `${origin}/enrol#${code}`, expires_at } }
  }
  if (route === 'POST /v1/enrolments/redeem') {
    const { code, device } = JSON.parse(String(await bytes()))
    const known = codes.get(code)
    codes.delete(code)
    if (!known || known.until < Date.now())
      return fault(
        401,
        'code-unknown',
        'This code is not known, was used, or is over.',
        'Make a new code and type it within ten minutes.',
      )
    const record = {
      id: device.id ?? nextId(),
      name: device.name,
      kind: known.kind,
      station: known.station,
      member: known.kind === 'phone' ? known.member.id : null,
      enrolled_at: new Date().toISOString(),
      enrolled_by: known.member.id,
      last_seen_at: new Date().toISOString(),
      state: 'active',
    }
    world.write(() => world.save('device', record))
    return open(known.kind === 'phone' ? known.member : null, record)
  }
  if (route === 'GET /v1/signers' && member) {
    const items = world
      .all('member')
      .filter((m) => pins.has(m.id))
      .map((m) => {
        const { salt, key } = pins.get(m.id)
        const check = createHmac('sha256', key).update('check').digest('hex').slice(0, 2)
        return {
          member: m.id,
          name: m.name,
          role: m.role,
          salt: salt.toString('hex'),
          iterations: 600_000,
          check,
        }
      })
    return { status: 200, body: { items } }
  }
  const one = /^GET \/v1\/(pieces|defects)(?:\/([^/]+))?$/.exec(route)
  if (one && member) {
    const kind = one[1].slice(0, -1)
    if (one[2]) {
      const record = world.get(kind, one[2])
      return record ? { status: 200, body: record } : fault(404, 'not-found', `No such ${kind}.`)
    }
    const q = (url.searchParams.get('q') ?? '').toLowerCase()
    const parent = url.searchParams.get('parent')
    const items = world
      .all(kind)
      .filter((r) => (!q || (r.tag ?? '').toLowerCase().includes(q)) && (!parent || r.piece === parent))
    return { status: 200, body: { items, next: null } }
  }
  return undefined
}

const fault = (status, code, detail, hint) => ({
  status,
  body: { type: `urn:fullset:${code}`, title: detail, status, code, detail, hint },
})

function photoDoor(method, sha, body) {
  if (method !== 'PUT') {
    const known = photos.get(sha)
    return known
      ? { status: 200, bytes: known, type: 'image/jpeg' }
      : fault(404, 'photo-awaited', 'This photo has not arrived yet.')
  }
  if (createHash('sha256').update(body).digest('hex') !== sha)
    return fault(422, 'photo-name', 'The name is not the hash of these bytes.')
  const known = photos.has(sha)
  photos.set(sha, body)
  return { status: known ? 200 : 201, body: {} }
}
