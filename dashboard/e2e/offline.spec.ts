// The phone in a basement, against the real service that is really stopped. Each test has a browser profile of its own on the
// disk, so that a closed tab and a new start of the browser are real too.
import { chromium, type BrowserContext, type Page } from '@playwright/test'
import { Client, ephemeral } from 'fullset-client'
import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import path from 'node:path'
import type { Defect, Piece, Rig } from '../src/api/types'
import { Basement } from './basement'
import { approveCard } from './desk'
import { feed, records } from './helpers'
import { keepsPicture, onDisk } from './kept'
import { expect, test } from './test'

const PASSWORD = 'county-demo-only'
const IMAGE = 'public/icon-512.png'

test.use({ serviceWorkers: 'allow' })

const basement = new Basement()
let folder = ''
/** What was thrown in the phone's pages and caught by nobody. */
let thrown: string[] = []
test.beforeAll(async () => {
  test.setTimeout(90_000)
  await basement.open()
})
test.afterAll(() => basement.close())
test.beforeEach(async () => {
  test.setTimeout(90_000)
  folder = mkdtempSync(path.join(tmpdir(), 'phone-'))
  thrown = []
  basement.cut = basement.swallowed = 0
  basement.revoked = false
  basement.newer = ''
  await basement.start()
})
test.afterEach(() => {
  rmSync(folder, { recursive: true, force: true, maxRetries: 5 })
  expect(thrown).toEqual([])
})

async function takePhone(): Promise<{ context: BrowserContext; page: Page }> {
  const { launchOptions } = test.info().project.use
  const context = await chromium.launchPersistentContext(folder, {
    ...launchOptions,
    baseURL: basement.url,
    viewport: { width: 390, height: 844 },
  })
  context.on('weberror', (fault) => thrown.push(fault.error().message))
  return { context, page: context.pages()[0] ?? (await context.newPage()) }
}

/** Signed in, everything on the phone: from here on the signal may go. */
async function ready(page: Page, who = 'officer') {
  await page.goto('/')
  await page.getByLabel('E-mail').fill(`${who}@tamarrow.example`)
  await page.getByLabel('Password').fill(PASSWORD)
  await page.getByRole('button', { name: 'Sign in' }).click()
  await expect(page.getByText('Live', { exact: true })).toBeVisible()
  await page.evaluate(async () => void (await navigator.serviceWorker.ready))
  await expect.poll(() => page.evaluate(() => navigator.serviceWorker.controller !== null)).toBe(true)
}

/** Sound pieces that this member's phone keeps: those on the rigs of their station, or of anywhere. */
async function pieces(page: Page, count: number): Promise<Piece[]> {
  const changes = await feed(page)
  const { station } = await page.evaluate(async () => {
    const who = (await (await fetch('/v1/session')).json()) as { member: { station?: string | null } }
    return who.member
  })
  const rigs = new Set(
    records<Rig>(changes, 'rig')
      .filter((r) => !station || r.station === station)
      .map((r) => r.id),
  )
  const taken = new Set(records<Defect>(changes, 'defect').map((d) => d.piece))
  const free = records<Piece>(changes, 'piece').filter(
    (p) => p.place.at === 'rig' && rigs.has(p.place.rig) && p.state === 'in_service' && !taken.has(p.id),
  )
  expect(free.length).toBeGreaterThanOrEqual(count)
  return free.slice(0, count)
}

let somebody: Client | undefined
/** What the service has, asked by somebody else. */
async function stored(words: string): Promise<number> {
  if (!somebody) {
    somebody = new Client({ base: basement.url, keys: ephemeral() })
    expect((await somebody.signIn('admin@tamarrow.example', PASSWORD)).ok).toBe(true)
  }
  const reply = await somebody.any<{ items: Defect[] }>('GET', '/v1/defects?limit=500')
  if (!reply.ok) throw new Error(reply.problem.title)
  return reply.data.items.filter((one) => one.what === words).length
}

async function report(page: Page, piece: Piece | undefined, words: string, photo?: string) {
  await page.goto(`/pieces/${piece?.id}/report`)
  await page.getByRole('button', { name: 'Something else' }).click()
  await page.getByLabel('In your own words').fill(words)
  if (photo) {
    await page.getByLabel('Choose photos').setInputFiles(photo)
    await expect(page.getByRole('img', { name: 'Photo 1 of the defect' })).toBeVisible()
  }
  await page.getByRole('button', { name: 'Send: out of service' }).click()
  await page.getByRole('link', { name: `Back to ${piece?.tag}` }).click()
  await expect(page).toHaveURL(new RegExp(`/pieces/${piece?.id}$`))
}

/** The service answers again, and the browser says that the signal is back. */
async function back(...tabs: Page[]) {
  await basement.start()
  for (const tab of tabs) await tab.evaluate(() => dispatchEvent(new Event('online')))
}

const defectsCalled = async (page: Page, words: string) =>
  records<Defect>(await feed(page), 'defect').filter((d) => d.what === words)

test('any address opens with no server, with what the phone keeps and how old it is', async () => {
  const { context, page } = await takePhone()
  await ready(page)
  const [piece] = await pieces(page, 1)
  await basement.stop()
  await page.goto(`/pieces/${piece?.id}`)
  await expect(page.getByRole('heading', { level: 1 })).toContainText(piece?.tag ?? '?')
  await expect(page.getByText(/Not connected, last synced \d\d:\d\d/)).toBeVisible()
  await page.reload()
  await expect(page.getByRole('heading', { level: 1 })).toContainText(piece?.tag ?? '?')
  await page.goto('/register?kind=hose')
  await expect(page.getByLabel('Kind')).toHaveValue('hose')
  await context.close()

  const again = await takePhone()
  await again.page.goto('/')
  await again.page.getByRole('link', { name: 'Board' }).first().click()
  await expect(again.page.getByRole('heading', { level: 1 })).toContainText('full extrication')
  await expect(again.page.getByText(/Not connected, last synced/)).toBeVisible()
  // It comes back by itself.
  await basement.start()
  await expect(again.page.getByText('Live', { exact: true })).toBeVisible({ timeout: 30_000 })
  await again.context.close()
})

test('a defect with its photo, reported with no server: kept over a new start, stored once though answers are lost', async () => {
  const { context, page } = await takePhone()
  await ready(page)
  const [piece] = await pieces(page, 1)
  await basement.stop()
  await report(page, piece, 'Crack behind the blade', IMAGE)
  await expect(page.getByText(/^No: /)).toBeVisible()
  await expect(page.getByText(/waiting on this phone/i).first()).toBeVisible()
  await expect(page.getByRole('link', { name: /1 waiting/ })).toBeVisible()
  await context.close()

  const again = await takePhone()
  await again.page.goto(`/pieces/${piece?.id}`)
  await expect(again.page.getByText('Crack behind the blade').first()).toBeVisible()
  await expect(again.page.getByRole('link', { name: /1 waiting/ })).toBeVisible()
  basement.cut = 2
  await back(again.page)
  await expect(again.page.getByRole('link', { name: /waiting/ })).toBeHidden({ timeout: 45_000 })
  expect(basement.swallowed).toBe(2)
  const stored = await defectsCalled(again.page, 'Crack behind the blade')
  expect(stored).toHaveLength(1)
  await expect(again.page.getByText(/^No: /)).toBeVisible()
  const { photos: shas } = stored[0] as unknown as { photos: string[] }
  expect(shas).toHaveLength(1)
  expect(new Set(basement.uploads)).toEqual(new Set([`/v1/photos/${shas[0]}`]))
  const seen = await again.page.evaluate(async (sha) => {
    const answer = await fetch(`/v1/photos/${sha}`)
    return [answer.status, answer.headers.get('content-type')]
  }, shas[0])
  expect(seen).toEqual([200, 'image/jpeg'])
  await again.context.close()
})

test('two tabs at once: both see what waits, each act arrives once', async () => {
  const { context, page } = await takePhone()
  await ready(page)
  const [first, second] = await pieces(page, 2)
  const other = await context.newPage()
  await other.goto('/')
  await basement.stop()
  await Promise.all([report(page, first, 'Tab one says so'), report(other, second, 'Tab two says so')])
  for (const tab of [page, other]) await expect(tab.getByRole('link', { name: /2 waiting/ })).toBeVisible()
  basement.cut = 1
  await back(page, other)
  for (const tab of [page, other])
    await expect(tab.getByRole('link', { name: /waiting/ })).toBeHidden({ timeout: 45_000 })
  for (const words of ['Tab one says so', 'Tab two says so'])
    expect(await defectsCalled(page, words)).toHaveLength(1)
  await context.close()
})

test('another member on the same browser neither sees nor sends what waits', async () => {
  const { context, page } = await takePhone()
  await ready(page, 'crew')
  const [piece] = await pieces(page, 1)
  await basement.stop()
  await report(page, piece, 'Only the crew knows')
  await expect(page.getByRole('link', { name: /1 waiting/ })).toBeVisible()
  // The cookies go, as after a week in a drawer; the disk stays.
  await context.clearCookies()
  await back(page)
  await expect(page.getByText(/1 report of Pia Lindqvort’s is still waiting on this phone/)).toBeVisible({
    timeout: 45_000,
  })
  await page.getByLabel('E-mail').fill('tools@tamarrow.example')
  await page.getByLabel('Password').fill(PASSWORD)
  await page.getByRole('button', { name: 'Sign in' }).click()
  await expect(page.getByText('Live', { exact: true })).toBeVisible()
  await expect(page.getByRole('link', { name: /waiting/ })).toBeHidden()
  expect(await defectsCalled(page, 'Only the crew knows')).toHaveLength(0)
  await page.locator('summary', { hasText: /./ }).first().click()
  await page.getByRole('button', { name: 'Sign out' }).click()
  await page.getByLabel('E-mail').fill('crew@tamarrow.example')
  await page.getByLabel('Password').fill(PASSWORD)
  await page.getByRole('button', { name: 'Sign in' }).click()
  await expect(page.getByText('Live', { exact: true })).toBeVisible()
  await expect.poll(async () => (await defectsCalled(page, 'Only the crew knows')).length).toBe(1)
  await context.close()
})

test('signing out with something waiting asks first, and then leaves nothing on the phone', async () => {
  const { context, page } = await takePhone()
  await ready(page, 'tools')
  const [piece] = await pieces(page, 1)
  await page.route('**/v1/commands', (route) => route.abort())
  await report(page, piece, 'Will be lost')
  await page.locator('summary', { hasText: /./ }).first().click()
  await page.getByRole('button', { name: 'Sign out' }).click()
  const dialog = page.getByRole('dialog')
  await expect(dialog).toContainText('1 report has not reached the server')
  await dialog.getByRole('button', { name: 'Sign out and lose it' }).click()
  await expect(page.getByLabel('E-mail')).toBeVisible()
  const left = await onDisk(page)
  expect(left).toEqual([0, 0, 0])
  await context.close()
})

test('signing out without a server wipes the phone, lets nobody in again, and is told with the next signal', async () => {
  const { context, page } = await takePhone()
  await ready(page, 'tools')
  await basement.stop()
  await page.locator('summary', { hasText: /./ }).first().click()
  await page.getByRole('button', { name: 'Sign out' }).click()
  await expect(page.getByText('The server has not heard yet that you signed out')).toBeVisible()
  expect(await onDisk(page)).toEqual([0, 0, 0])
  await page.reload()
  await expect(page.getByLabel('E-mail')).toBeVisible()
  expect(await context.cookies()).not.toEqual([])
  await basement.start()
  await page.reload()
  await expect(page.getByLabel('E-mail')).toBeVisible()
  await expect.poll(async () => (await context.cookies()).length).toBe(0)
  expect(await page.evaluate(async () => (await fetch('/v1/session')).status)).toBe(401)
  expect(await onDisk(page)).toEqual([0, 0, 0])
  // What is the server's is asked of the server, not answered from the phone.
  await page.goto('/livez')
  await expect(page.locator('body')).toHaveText('alive')
  await context.close()
})

test('the parts of the app that are kept are what the server has, and no answer of the API is among them', async () => {
  const { context, page } = await takePhone()
  await ready(page)
  const kept = await page.evaluate(async () => {
    const names = await caches.keys()
    const requests = await Promise.all(names.map(async (n) => (await caches.open(n)).keys()))
    return { names, paths: requests.flat().map((r) => new URL(r.url).pathname) }
  })
  expect(kept.names).toHaveLength(1)
  expect(kept.paths).toContain('/')
  expect(kept.paths).toContain('/manifest.webmanifest')
  expect(kept.paths.filter((p) => p.startsWith('/v1'))).toEqual([])
  const html = await (await fetch(basement.url)).text()
  for (const [, asset] of html.matchAll(/(?:src|href)="(\/assets\/[^"]+)"/g))
    expect(kept.paths).toContain(asset)
  const icon = readFileSync('public/icon-192.png')
  expect(icon.subarray(1, 4).toString()).toBe('PNG')
  await context.close()
})

test('a revoked device keeps nothing at all, not even what waits', async () => {
  const { context, page } = await takePhone()
  await ready(page, 'tools')
  const [piece] = await pieces(page, 1)
  await basement.stop()
  await report(page, piece, 'Gone with the device', IMAGE)
  expect(await onDisk(page)).toEqual([expect.any(Number), 1, 1])
  basement.revoked = true
  await page.evaluate(() => document.dispatchEvent(new Event('visibilitychange')))
  await expect(page.getByText('This device was taken out of the agency')).toBeVisible({ timeout: 20_000 })
  expect(await onDisk(page)).toEqual([0, 0, 0])
  await context.close()
})

test('with no tab open the worker sends what waits', async () => {
  const { context, page } = await takePhone()
  await ready(page, 'tools')
  const [piece] = await pieces(page, 1)
  const browser = await context.newCDPSession(page)
  const found = new Promise<string>((resolve) => {
    browser.on('ServiceWorker.workerRegistrationUpdated', ({ registrations }) => {
      const ours = registrations.find((r) => r.scopeURL.startsWith(basement.url))
      if (ours) resolve(ours.registrationId)
    })
  })
  await browser.send('ServiceWorker.enable')
  const registrationId = await found
  await basement.stop()
  await report(page, piece, 'Sent by the worker')
  await page.goto('about:blank')
  await basement.start()
  expect(await stored('Sent by the worker')).toBe(0)
  // What the browser does by itself when the signal is back.
  const event = { origin: basement.url, registrationId, tag: 'fullset-outbox', lastChance: false }
  await browser.send('ServiceWorker.dispatchSyncEvent', event)
  await expect.poll(() => stored('Sent by the worker'), { timeout: 15_000 }).toBe(1)
  await page.goto('/')
  await expect(page.getByText('Live', { exact: true })).toBeVisible()
  await expect(page.getByRole('link', { name: /waiting/ })).toBeHidden()
  await context.close()
})

test('a new version is offered, not forced, and waits while a form is open', async () => {
  const { context, page } = await takePhone()
  await ready(page, 'tools')
  const [piece] = await pieces(page, 1)
  await page.goto(`/pieces/${piece?.id}/report`)
  basement.newer = 'newer'
  await page.evaluate(async () => void (await (await navigator.serviceWorker.ready).update()))
  await expect
    .poll(() => page.evaluate(async () => (await navigator.serviceWorker.ready).waiting?.state))
    .toBe('installed')
  await expect(page.getByText('A new version is ready')).toBeHidden()
  await page.getByRole('link', { name: /without reporting/ }).click()
  await expect(page.getByText('A new version is ready')).toBeVisible()
  const loaded = page.waitForEvent('load')
  await page.getByRole('button', { name: 'Reload' }).click()
  await loaded
  await expect(page.getByText('Live', { exact: true })).toBeVisible()
  await expect(page.getByText('A new version is ready')).toBeHidden()
  expect(await page.evaluate(async () => (await navigator.serviceWorker.ready).waiting)).toBeNull()
  await context.close()
})

test('how a piece is run is there without a signal, with a picture that nobody had opened', async () => {
  const { context, page } = await takePhone()
  await ready(page)
  const [piece] = await pieces(page, 1)
  const photo = await approveCard(basement.url, piece?.model ?? '', '1. Valve **open**, as in the basement')
  await expect.poll(() => keepsPicture(page, photo), { timeout: 20_000 }).toBe(true)
  await basement.stop()
  await page.goto(`/tag/${piece?.tag}`)
  const run = page.getByRole('region', { name: 'Operating card' })
  await expect(run).toContainText('Valve open, as in the basement')
  await expect(run).toContainText('The lever, at rest')
  const width = () => run.locator('img').evaluate((image) => (image as HTMLImageElement).naturalWidth)
  await expect.poll(width).toBeGreaterThan(0)
  // Nothing of one's own stays: with the sign-out the pictures go as well.
  await basement.start()
  await expect(page.getByText('Live', { exact: true })).toBeVisible()
  await page.getByText('More', { exact: true }).click()
  await page.getByRole('button', { name: 'Sign out' }).click()
  await expect(page.getByLabel('E-mail')).toBeVisible()
  expect(await onDisk(page, ['pictures'])).toEqual([0])
  await context.close()
})
