// Talks to the service through the types that openapi-typescript made: call.js BASE TOKEN PIECE PHOTO.
import { createHash } from 'node:crypto'
import { readFileSync } from 'node:fs'
import createClient from 'openapi-fetch'
import type { components, paths } from './schema.js'

const [base, token, piece, photo] = process.argv.slice(2) as [string, string, string, string]
const client = createClient<paths>({ baseUrl: base, headers: { Authorization: `Bearer ${token}` } })
type Command = components['schemas']['Command']

const must: (holds: unknown, words: string) => asserts holds = (holds, words) => {
  if (!holds) throw new Error(words)
}
const uuid7 = () => {
  const time = Date.now().toString(16).padStart(12, '0')
  return `${time.slice(0, 8)}-${time.slice(8)}-7${crypto.randomUUID().slice(15)}`
}

const found = await client.GET('/v1/pieces/{id}', { params: { path: { id: piece } } })
must(found.data, JSON.stringify(found.error))
const tag: string = found.data.tag
must(tag === 'E1-RAM', tag)
must(found.data.place.at === 'rig' && found.data.place.rig.length === 36, JSON.stringify(found.data.place))

const picture = readFileSync(photo)
const sha256 = createHash('sha256').update(picture).digest('hex')
const put = await client.PUT('/v1/photos/{sha256}', {
  params: { path: { sha256 } },
  body: picture as unknown as string,
  headers: { 'Content-Type': 'image/jpeg' },
  bodySerializer: (body) => body,
})
must(put.response.status === 201, JSON.stringify(put.error))

const report: components['schemas']['ReportDefect'] = {
  id: crypto.randomUUID(),
  piece,
  what: 'seen from TypeScript',
  class: 'other',
  severity: 'out_of_service',
  photos: [sha256],
}
const answer = await client.POST('/v1/defects', { body: report })
must(answer.data?.outcome === 'applied', JSON.stringify(answer.error))

const out: Command = { id: uuid7(), kind: 'piece.take_out', body: { id: piece, reason: 'bent' } }
const sent = await client.POST('/v1/commands', { body: { sent_at: new Date().toISOString(), commands: [out] } })
must(sent.data?.answers[0]?.outcome === 'applied', JSON.stringify(sent.data ?? sent.error))
// @ts-expect-error: a return names the revision that it was decided on
const hasty: Command = { id: uuid7(), kind: 'piece.return', body: { id: piece, note: 'x', evidence: {} } }
// @ts-expect-error: a body of another kind
const wrong: Command = { id: uuid7(), kind: 'piece.arrive', body: { reason: 'bent' } }
must(hasty && wrong, '')

const file = 'Asset tag,Kind,Model,Assigned to\nTS-1,hand pump,Dorvan HP,Station 1 reserve\n'
const run = await client.POST('/v1/imports', {
  params: { query: { dry_run: true } },
  body: file,
  headers: { 'Content-Type': 'text/csv' },
  bodySerializer: (body) => body,
})
must(run.data?.accepted === 1, JSON.stringify(run.error))

const refused = await client.GET('/v1/changes', { params: { query: { since: 'nonsense' } } })
must(refused.error?.code === 'resync-required', JSON.stringify(refused.data))
// @ts-expect-error: an outcome that the document does not name
const never: typeof answer.data.outcome = 'postponed'
console.log('typescript:', tag, never.length)
