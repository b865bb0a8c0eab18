// Talks to the service through the client that @hey-api/openapi-ts made: call-sdk.js BASE TOKEN PIECE PHOTO.
import { createHash } from 'node:crypto'
import { readFileSync } from 'node:fs'
import { createServer } from 'node:http'
import type { AddressInfo } from 'node:net'
import { client } from './sdk/client.gen.js'
import { findPiece, importRegister, listChanges, putPhoto, sendCommands } from './sdk/sdk.gen.js'
import type { Command, PieceTakeOutCommand, Place } from './sdk/types.gen.js'

const [base, token, piece, photo] = process.argv.slice(2) as [string, string, string, string]
client.setConfig({ baseUrl: base, auth: () => token })

const must: (holds: unknown, words: string) => asserts holds = (holds, words) => {
  if (!holds) throw new Error(words)
}
const uuid7 = () => {
  const time = Date.now().toString(16).padStart(12, '0')
  return `${time.slice(0, 8)}-${time.slice(8)}-7${crypto.randomUUID().slice(15)}`
}
/** Every place by its name: a place that is missing here does not compile. */
const where = (place: Place): string => {
  switch (place.at) {
    case 'rig':
      return place.rig
    case 'shelf':
      return place.station
    case 'shop':
      return place.shop
    case 'vendor':
    case 'loan':
      return place.name
    case 'transit':
      return where(place.to)
    case 'retired':
      return 'retired'
    default:
      return `unknown: ${(place satisfies never as { at: string }).at}`
  }
}

const found = await findPiece({ path: { id: piece } })
must(found.data, JSON.stringify(found.error))
must(found.data.tag === 'E1-RAM' && where(found.data.place).length === 36, found.data.tag)

const picture = readFileSync(photo)
const sha256 = createHash('sha256').update(picture).digest('hex')
const put = await putPhoto({ path: { sha256 }, body: new Blob([picture], { type: 'image/jpeg' }), headers: { 'Content-Type': 'image/jpeg' } as never })
must(put.response?.status === 201, JSON.stringify(put.error))

const out: PieceTakeOutCommand = { id: uuid7(), kind: 'piece.take_out', body: { id: piece, reason: 'bent' } }
const report: Command = {
  id: uuid7(),
  kind: 'defect.report',
  after: out.id,
  body: { id: uuid7(), piece, what: 'seen from the SDK', class: 'other', severity: 'out_of_service', photos: [sha256] },
}
const sent = await sendCommands({ body: { sent_at: new Date().toISOString(), commands: [out, report] } })
must(sent.data?.answers.every((answer) => answer.outcome === 'applied'), JSON.stringify(sent.data ?? sent.error))
// @ts-expect-error: a return names the revision that it was decided on
const hasty: Command = { id: uuid7(), kind: 'piece.return', body: { id: piece, note: 'x', evidence: {} } }
// @ts-expect-error: a body of another kind
const wrong: Command = { id: uuid7(), kind: 'piece.arrive', body: { reason: 'bent' } }
must(hasty && wrong, '')

const file = 'Asset tag,Kind,Model,Assigned to\nTS-1,hand pump,Dorvan HP,Station 1 reserve\n'
const run = await importRegister({ query: { dry_run: true }, body: new Blob([file]) })
must(run.data?.accepted === 1, JSON.stringify(run.error))

const refused = await listChanges({ query: { since: 'nonsense' } })
must(refused.error?.code === 'resync-required', JSON.stringify(refused.data))

// What a later server may answer is kept.
const later = createServer((_, answer) => {
  answer.setHeader('Content-Type', 'application/json')
  answer.end(JSON.stringify({ ...found.data, place: { at: 'locker', locker: 'B2' }, state: 'on_probation' }))
}).listen(0)
client.setConfig({ baseUrl: `http://127.0.0.1:${(later.address() as AddressInfo).port}` })
const kept = await findPiece({ path: { id: piece } })
must(kept.data && where(kept.data.place) === 'unknown: locker', JSON.stringify(kept))
must((kept.data.state as string) === 'on_probation', kept.data.state)
later.close()
console.log('sdk:', found.data.tag)
