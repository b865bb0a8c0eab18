import { expect, type APIResponse, type BrowserContext, type Page, type Request } from '@playwright/test'
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

/** Where the page is, or would begin. */
export const originOf = (page: Page) =>
  new URL(page.url().startsWith('http') ? page.url() : (process.env['BASE_URL'] ?? '')).origin

/** Asks the service by the page's sign-in, whatever the page itself shows or may reach. */
async function ask(page: Page, path: string, data?: object): Promise<APIResponse> {
  const origin = originOf(page)
  const headers = { origin }
  const send = () =>
    page.request.fetch(origin + path, { method: data ? 'POST' : 'GET', headers, data, maxRetries: 2 })
  const reply = await send()
  if (reply.status() !== 401) return reply
  // A quarter of an hour has passed since the last refresh.
  await page.request.post(`${origin}/v1/session/refresh`, { headers })
  return send()
}

/**
 * Gives the page a sign-in and loads nothing. Tests go on with the first one: a server slows down who signs in too often. The form is
 * `session.spec.ts`'s.
 */
export async function signedIn(page: Page) {
  if (kept) return page.context().addCookies(kept)
  const origin = originOf(page)
  const data = { email: EMAIL, password: PASSWORD, browser: true }
  const reply = await page.request.post(`${origin}/v1/session`, { headers: { origin }, data })
  expect(reply.status(), await reply.text()).toBe(200)
  kept = await page.context().cookies()
}

/** The same, with the app at an address, and live; a fresh sign-in is through the form. */
export async function signIn(page: Page, path = '/', fresh = false) {
  if (!fresh) await signedIn(page)
  await page.goto(path)
  if (fresh) {
    await page.getByLabel('E-mail').fill(EMAIL)
    await page.getByLabel('Password').fill(PASSWORD)
    await page.getByRole('button', { name: 'Sign in' }).click()
  }
  await expect(page.getByText('Live', { exact: true })).toBeVisible()
}

const NOWHERE = 'No such page'

/**
 * Goes to an address as by a link: the screen comes anew, the app stays. For walks over many screens; in `make nightly` each address is
 * loaded with the whole app. What the screen asks of the service has come when this ends.
 */
export async function visit(page: Page, path: string) {
  const heading = page.getByRole('heading', { level: 1 })
  const open = new Set<Request>()
  const asked = (request: Request) => void (request.url().includes('/changes/live') || open.add(request))
  const answered = (request: Request) => void open.delete(request)
  page.on('request', asked).on('requestfinished', answered).on('requestfailed', answered)
  if (process.env['E2E_EVERY_LOOK'] || page.url() === 'about:blank') {
    await page.goto(path)
    await expect(heading).toBeVisible()
  } else await follow(page, path)
  await expect.poll(() => open.size).toBe(0)
  page.off('request', asked).off('requestfinished', answered).off('requestfailed', answered)
  await expect(page.locator('main [role=status]').filter({ hasText: /…$/, visible: true })).toHaveCount(0)
}

async function follow(page: Page, path: string) {
  const heading = page.getByRole('heading', { level: 1 })
  const go = (to: string) =>
    page.evaluate((address) => {
      history.pushState(null, '', address)
      dispatchEvent(new PopStateEvent('popstate'))
    }, to)
  // By way of an address that is none, so that what comes is not what was there.
  await go('/nowhere')
  await expect(heading).toHaveText(NOWHERE)
  if (path === '/nowhere') return
  await go(path)
  await expect(heading.filter({ hasNotText: NOWHERE }).first()).toBeVisible()
}

/** So often is Tab pressed before somebody looks again. */
const BURST = 8

/** Goes on with Tab until the focus is on what has that name; nothing is clicked. Keys that come before it is drawn would lead nowhere. */
export async function tabTo(page: Page, name: RegExp, most = 120) {
  const wanted = [name.source, name.flags] as const
  await page.waitForFunction(stopAt, [...wanted, 'drawn'] as const)
  for (let n = 0; n <= most; n += BURST) {
    for (let k = 0; n && k < BURST; k++) await page.keyboard.press('Tab')
    if (await page.evaluate(stopAt, [...wanted, 'reached'] as const)) return
  }
  throw new Error(`no way to ${String(name)} by Tab`)
}
/** Runs in the page: whether what has that name is drawn, or whether the focus is on it. Where it is not, Tab leads there and not past it. */
function stopAt([source, flags, asked]: readonly [string, string, 'drawn' | 'reached']): boolean {
  const wanted = new RegExp(source, flags)
  const named = (e: Element) => {
    const label = (e as HTMLInputElement).labels?.[0]?.textContent
    return wanted.test(
      (label || e.getAttribute('aria-label') || e.textContent || '').replace(/\s+/g, ' ').trim(),
    )
  }
  if (asked === 'drawn')
    return [...document.querySelectorAll('a, button, input, select, summary, textarea, [tabindex]')].some(
      named,
    )
  const there = () => {
    const e = document.activeElement
    return !e || e === document.body ? wanted.test('') : named(e)
  }
  const own = window as unknown as { tabStop?: (event: KeyboardEvent) => void }
  if (own.tabStop) removeEventListener('keydown', own.tabStop, true)
  delete own.tabStop
  if (there()) return true
  own.tabStop = (event) => {
    if (event.key === 'Tab' && there()) event.preventDefault()
  }
  addEventListener('keydown', own.tabStop, true)
  return false
}

/** What a service has told so far: only what has changed since is asked for. */
interface Told {
  since: string
  changes: Map<string, Change>
}
const told = new Map<string, Told>()

/** Every record as it stands now, in the order of the feed. */
export async function feed(page: Page): Promise<Change[]> {
  const origin = originOf(page)
  let at = told.get(origin) ?? { since: '', changes: new Map<string, Change>() }
  for (;;) {
    const since = at.since ? `&since=${encodeURIComponent(at.since)}` : ''
    const reply = await ask(page, `/v1/changes?scope=agency&limit=500${since}`)
    // Another service has come to this address.
    if (reply.status() === 410 && at.since) {
      at = { since: '', changes: new Map() }
      continue
    }
    expect(reply.status()).toBe(200)
    const body = (await reply.json()) as ChangesPage
    for (const change of body.changes) {
      const key = `${change.kind}/${change.id}`
      // In the order of revisions: what has changed is the last.
      at.changes.delete(key)
      if (!change.gone) at.changes.set(key, change)
    }
    at.since = body.next
    told.set(origin, at)
    if (!body.more) return [...at.changes.values()]
  }
}

/** The records of a kind by what people call them: ids are drawn anew for each county, and what a test chooses should not be. */
export function records<T>(changes: Change[], kind: string): T[] {
  const called = new Map<string, string>()
  for (const { kind, id, record } of changes) {
    const said = record as { name?: string; tag?: string } | undefined
    if (kind !== 'rig_standing') called.set(id, said?.tag ?? said?.name ?? '')
  }
  return changes
    .filter((c) => c.kind === kind && c.record)
    .toSorted((a, b) => (called.get(a.id) ?? '').localeCompare(called.get(b.id) ?? ''))
    .map((c) => ({ ...c.record, rev: c.rev }) as T)
}

const TOOLS: Kind[] = ['cutter', 'spreader', 'ram', 'combination_tool']

/** A front-line rig at full, and a tool whose loss alone drops it: the tests act on whatever agency the server holds. */
export async function fullRig(
  page: Page,
  kind?: Kind,
  suits: (piece: Piece, all: readonly Piece[]) => boolean = () => true,
) {
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
      .find(
        (p) =>
          p &&
          !marked.has(p.id) &&
          (kind ? p.kind === kind : TOOLS.includes(p.kind)) &&
          suits(p, [...pieces.values()]),
      )
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
  const [one] = prepare([{ kind, body, expects } as Write])
  const reply = await ask(page, '/v1/commands', { sent_at: new Date().toISOString(), commands: [one] })
  const { answers } = (await reply.json()) as { answers: { outcome: string; problem?: unknown }[] }
  return answers[0]
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

const shops = new Map<string, Client>()
/** The shop's program, signed in once. */
async function shopOf(origin: string): Promise<Client> {
  const known = shops.get(origin)
  if (known) return known
  const client = new Client({ base: origin, keys: ephemeral() })
  expect((await client.signIn(SHOP, PASSWORD)).ok).toBe(true)
  shops.set(origin, client)
  return client
}

/** Puts a piece back so that the next test finds the agency as it was: the shop closes its defects and returns it. */
export async function giveBack(page: Page, id: string) {
  const client = await shopOf(originOf(page))
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
      const value = sound && 'value' in sound ? (sound.value?.value ?? 10) : 10 + said
      // Three digits behind the point may be meant as thousands, and are asked about.
      await field.fill(String(value).replace(/\.\d{3}$/, '$&0'))
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
export const answer = async <T>(page: Page, path: string) => (await (await ask(page, path)).json()) as T
