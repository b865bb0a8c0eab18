import { afterEach, describe, expect, it, vi } from 'vitest'
import { AgencyLines } from './agencylines.svelte'

const road = [
  [
    [-108.5, 42.1],
    [-108.2, 42.4],
  ],
]
const record = (rev: number) => ({ id: 'a', name: `${rev}.geojson`, areas: 0, roads: 1, points: 2, rev })
const list = (rev?: number) => ({ items: rev === undefined ? [] : [record(rev)] })
const geometry = (rev: number) => ({ areas: [], roads: road, rev })

/** A service that answers these in turn: what it is asked for is kept. */
function service(...answers: [status: number, body: object][]) {
  const asked: string[] = []
  vi.stubGlobal('fetch', (url: string) => {
    asked.push(new URL(String(url), 'http://x').pathname)
    const [status, body] = answers.shift() ?? [503, { code: 'busy', title: 'Busy', status: 503 }]
    const headers = { 'content-type': 'application/json' }
    return Promise.resolve(new Response(JSON.stringify(body), { status, headers }))
  })
  return asked
}
afterEach(() => vi.unstubAllGlobals())

describe('the agency’s own lines', () => {
  it('are read with where they run, and not again while they are the same', async () => {
    const asked = service([200, list(7)], [200, geometry(7)], [200, list(7)])
    const lines = new AgencyLines()
    await lines.look()
    expect(lines.kept?.own).toMatchObject({ name: '7.geojson', areas: 0, roads: 1 })
    const { kept } = lines
    await lines.look()
    expect(asked).toEqual(['/v1/map-lines', '/v1/map-lines/a/geometry', '/v1/map-lines'])
    expect(lines.kept).toBe(kept)
  })
  it('that were changed between the two questions are asked for once more', async () => {
    service([200, list(7)], [200, geometry(8)], [200, list(8)], [200, geometry(8)])
    const lines = new AgencyLines()
    await lines.look()
    expect(lines.kept?.record.name).toBe('8.geojson')
  })
  it('that were taken away between them are gone, and none is not the same as not known', async () => {
    service([200, list(7)], [404, { code: 'not-found', title: 'Not found', status: 404 }], [200, list()])
    const lines = new AgencyLines()
    await lines.look()
    expect([lines.kept, lines.problem]).toEqual([null, null])
    await lines.look()
    expect(lines.problem?.status).toBe(503)
  })
  it('stay drawn where a later question has no answer', async () => {
    service([200, list(7)], [200, geometry(7)])
    const lines = new AgencyLines()
    await lines.look()
    await lines.look()
    expect([lines.kept?.record.rev, lines.problem?.status]).toEqual([7, 503])
  })
  it('that come after nobody waits for them any more are dropped', async () => {
    service([200, list(7)], [200, geometry(7)])
    const lines = new AgencyLines()
    const asking = lines.look()
    lines.stop()
    await asking
    expect(lines.kept).toBeNull()
  })
})
