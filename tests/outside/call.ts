// Talks to the service through the types that openapi-typescript made: call.js BASE TOKEN PIECE.
import createClient from 'openapi-fetch'
import type { components, paths } from './schema.js'

const [base, token, piece] = process.argv.slice(2) as [string, string, string]
const client = createClient<paths>({ baseUrl: base, headers: { Authorization: `Bearer ${token}` } })

const must: (holds: unknown, words: string) => asserts holds = (holds, words) => {
  if (!holds) throw new Error(words)
}

const found = await client.GET('/v1/pieces/{id}', { params: { path: { id: piece } } })
must(found.data, JSON.stringify(found.error))
const tag: string = found.data.tag
must(tag === 'E1-RAM', tag)

const report: components['schemas']['ReportDefect'] = {
  id: crypto.randomUUID(),
  piece,
  what: 'seen from TypeScript',
  class: 'other',
  severity: 'out_of_service',
}
const answer = await client.POST('/v1/defects', { body: report })
must(answer.data?.outcome === 'applied', JSON.stringify(answer.error))

const refused = await client.GET('/v1/changes', { params: { query: { since: 'nonsense' } } })
must(refused.error?.code === 'resync-required', JSON.stringify(refused.data))
// @ts-expect-error: an outcome that the document does not name
const never: typeof answer.data.outcome = 'postponed'
console.log('typescript:', tag, never.length)
