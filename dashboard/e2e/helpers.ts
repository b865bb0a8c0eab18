import { expect, type BrowserContext, type Page } from '@playwright/test'
import { Client, ephemeral, prepare, push, type Problem, type Write } from 'fullset-client'
import type {
  Change,
  ChangesPage,
  Defect,
  Kind,
  Needed,
  Piece,
  Clearance,
  Rig,
  RigStanding,
} from '../src/api/types'

export const EMAIL = process.env['E2E_EMAIL'] ?? 'coordinator@vellmere.example'
export const PASSWORD = process.env['E2E_PASSWORD'] ?? 'fullset-demo'
/** The same agency's mechanic: some returns take a technician's word. */
export const SHOP = process.env['E2E_SHOP'] ?? EMAIL.replace(/^[^@]+/, 'shop')

type Cookies = Awaited<ReturnType<BrowserContext['cookies']>>
let kept: Cookies | null = null

/** Signs in; later tests go on with the first sign-in, because a server slows down who signs in too often. */
export async function signIn(page: Page, path = '/', fresh = false) {
  if (kept && !fresh) await page.context().addCookies(kept)
  await page.goto(path)
  const form = page.getByLabel('E-mail')
  await expect(form.or(page.getByRole('navigation', { name: 'Main' })).first()).toBeVisible()
  if (await form.isVisible()) {
    await expect(async () => {
      await form.fill(EMAIL)
      await page.getByLabel('Password').fill(PASSWORD)
      await page.getByRole('button', { name: 'Sign in' }).click()
      await expect(form).toBeHidden({ timeout: 2_000 })
    }).toPass({ intervals: [3_000], timeout: 25_000 })
    if (!fresh) kept = await page.context().cookies()
  }
  await expect(page.getByText('Live', { exact: true })).toBeVisible()
}

/** Goes on with Tab until the focus is on what has that name; nothing is clicked. */
export async function tabTo(page: Page, name: RegExp, most = 120) {
  for (let n = 0; n < most; n++) {
    const at = await page.evaluate(() => {
      const e = document.activeElement as HTMLElement | null
      if (!e || e === document.body) return ''
      const label = (e as HTMLInputElement).labels?.[0]?.textContent
      return (label || e.getAttribute('aria-label') || e.textContent || '').replace(/\s+/g, ' ').trim()
    })
    if (name.test(at)) return
    await page.keyboard.press('Tab')
  }
  throw new Error(`no way to ${String(name)} by Tab`)
}
/** The whole feed, read in the page so that its session is used. */
export async function feed(page: Page): Promise<Change[]> {
  return page.evaluate(async () => {
    const all: Change[] = []
    let since = ''
    for (;;) {
      const url = `/v1/changes?scope=agency&limit=500${since ? `&since=${encodeURIComponent(since)}` : ''}`
      let reply = await fetch(url)
      // A quarter of an hour has passed since the last refresh.
      if (reply.status === 401) {
        await fetch('/v1/session/refresh', { method: 'POST' })
        reply = await fetch(url)
      }
      const body = (await reply.json()) as ChangesPage
      all.push(...body.changes)
      since = body.next
      if (!body.more) return all
    }
  })
}

export function records<T>(changes: Change[], kind: string): T[] {
  return changes.filter((c) => c.kind === kind && c.record).map((c) => ({ ...c.record, rev: c.rev }) as T)
}

const TOOLS: Kind[] = ['cutter', 'spreader', 'ram', 'combination_tool']

/** A front-line rig at full, and a tool whose loss alone drops it: the tests act on whatever agency the server holds. */
export async function fullRig(page: Page, kind?: Kind) {
  const changes = await feed(page)
  const pieces = new Map(records<Piece>(changes, 'piece').map((p) => [p.id, p]))
  const rigs = new Map(records<Rig>(changes, 'rig').map((r) => [r.id, r]))
  const marked = new Set(
    records<Defect>(changes, 'defect')
      .filter((d) => d.state === 'open')
      .map((d) => d.piece),
  )
  for (const standing of records<RigStanding>(changes, 'rig_standing')) {
    const rig = rigs.get(standing.id)
    const piece = standing.critical
      .map((id) => pieces.get(id))
      .find((p) => p && !marked.has(p.id) && (kind ? p.kind === kind : TOOLS.includes(p.kind)))
    if (rig?.in_service && rig.duty === 'front_line' && standing.level === 'full' && piece)
      return { rig, piece, standing }
  }
  throw new Error('no full rig with a critical tool in this agency')
}

/** Readings that pass, for whatever a return asks for. */
export function soundEvidence(needed: Needed | null | undefined) {
  const units: Record<string, string> = { pressure: 'bar', force: 'kN', time: 's' }
  const readings = (needed?.readings ?? []).map((reading) =>
    reading.dimension
      ? {
          measure: reading.measure,
          value: reading.plate ??
            reading.low ??
            reading.high ?? { value: 10, unit: units[reading.dimension] ?? '' },
        }
      : { measure: reading.measure, yes: reading.answer ?? true },
  )
  return {
    readings,
    note: 'End of test',
    ...(needed?.manual ? { manual: 'Maker’s manual, chapter 9' } : {}),
    ...(needed?.signs === 'makers_service' || needed?.ending === 'retires_unless_maker'
      ? {
          makers_service: {
            by: 'Maker’s service',
            reference: 'Paper 1',
            on: new Date().toISOString().slice(0, 10),
          },
        }
      : {}),
  }
}

export async function command(page: Page, kind: string, body: Record<string, unknown>, expects?: number) {
  return page.evaluate(
    async ([k, b, e]) => {
      const id = `0193${Date.now().toString(16).padStart(12, '0').slice(-4)}-0000-7000-8000-${Math.random().toString(16).slice(2).padEnd(12, '0').slice(0, 12)}`
      const now = new Date().toISOString()
      const one: Record<string, unknown> = { id, kind: k, at: now, body: b }
      if (e !== undefined) one['expects'] = e
      const response = await fetch('/v1/commands', {
        method: 'POST',
        headers: { 'content-type': 'application/json' },
        body: JSON.stringify({ sent_at: now, commands: [one] }),
      })
      return ((await response.json()) as { answers: { outcome: string; problem?: unknown }[] }).answers[0]
    },
    [kind, body, expects] as const,
  )
}

type Lacking = NonNullable<Problem['missing']>[number]

/** Evidence with what was missing of it. */
function filledIn(evidence: unknown, missing: Lacking[]) {
  const { readings, ...rest } = evidence as ReturnType<typeof soundEvidence>
  const more = missing
    .filter((one) => one.what === 'reading' && one.measure)
    .map((one) => {
      const value = one.low ?? one.high
      return value
        ? { measure: one.measure, value }
        : { measure: one.measure, yes: one.measure !== 'leak_at_end_stop' }
    })
  return { ...rest, readings: [...readings, ...more] }
}

/** Puts a piece back so that the next test finds the agency as it was: the shop closes its defects and returns it. */
export async function giveBack(page: Page, id: string) {
  const client = new Client({ base: new URL(page.url()).origin, keys: ephemeral() })
  const signed = await client.signIn(SHOP, PASSWORD)
  expect(signed.ok).toBe(true)
  const read = async <T>(path: string) => {
    const reply = await client.any<T>('GET', path)
    if (!reply.ok) throw new Error(`${path}: ${JSON.stringify(reply.problem)}`)
    return reply.data
  }
  const send = async (kind: string, body: Record<string, unknown>, expects?: number) => {
    const reply = await push(client, prepare([{ kind, body, expects } as Write]))
    return reply.ok ? reply.data.answers[0]?.problem : reply.problem
  }
  const act = async (kind: string, body: Record<string, unknown>, expects?: number) => {
    let problem = await send(kind, body, expects)
    // What the defect of a piece in service asks for is told by the refusal.
    if (problem?.code === 'evidence-missing' && problem.missing)
      problem = await send(kind, { ...body, evidence: filledIn(body['evidence'], problem.missing) }, expects)
    if (problem) throw new Error(`${kind}: ${JSON.stringify(problem)}`)
  }
  const needs = async () => soundEvidence((await read<Clearance>(`/v1/pieces/${id}/release`)).release)
  for (const d of (await read<{ items: Defect[] }>(`/v1/defects?parent=${id}`)).items) {
    if (d.state !== 'open') continue
    await act('defect.close', { id: d.id, resolution: 'End of test', evidence: await needs() }, d.rev)
  }
  const piece = await read<Piece>(`/v1/pieces/${id}`)
  if (piece.state === 'out_of_service')
    await act('piece.return', { id, note: 'End of test', evidence: await needs() }, piece.rev)
}

/** Fills the form of a return with readings that pass. */
export async function fillRelease(page: Page, id: string, note: string) {
  const dialog = page.getByRole('dialog')
  const standing = await answer<Clearance>(page, `/v1/pieces/${id}/release`)
  for (const reading of standing.release.readings) {
    const label = reading.label.replace(/^./, (c) => c.toUpperCase())
    if (reading.dimension) {
      const field = dialog.getByLabel(new RegExp(`^${label}, `))
      const said = await dialog.getByText(/at least|plate says/).count()
      const sound = soundEvidence(standing.release).readings.find((r) => r.measure === reading.measure)
      await field.fill(String(sound && 'value' in sound ? (sound.value?.value ?? 10) : 10 + said))
    } else {
      const group = dialog.getByRole('group', { name: label })
      await group.getByLabel(reading.answer === false ? 'No' : 'Yes', { exact: true }).check()
    }
  }
  if (standing.release.manual) await dialog.getByLabel(/The manual/).fill('Maker’s manual, chapter 9')
  const paper = dialog.getByRole('group', { name: /Paper of the maker/ })
  if (await paper.count()) {
    await paper.getByLabel('Company').fill('Northfield Hydraulics')
    await paper.getByLabel('Number').fill('118')
    await paper.getByLabel('Date on it').fill(new Date().toISOString().slice(0, 10))
  }
  await dialog.getByLabel(/What was found and done|Note/).fill(note)
}

/** What an address answers to the member who is signed in on the page. */
export const answer = <T>(page: Page, path: string) =>
  page.evaluate(async (p) => (await (await fetch(p)).json()) as T, path)
