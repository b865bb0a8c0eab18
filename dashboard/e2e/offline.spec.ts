// The phone in a basement, against the real service that is really stopped. Each test has a browser profile of its own on the
// disk, so that a closed tab and a new start of the browser are real too.
import { chromium, expect, test, type BrowserContext, type Page } from '@playwright/test'
import { execFileSync, spawn, type ChildProcess } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { createServer, request as ask, type Server } from 'node:http'
import type { AddressInfo } from 'node:net'
import { tmpdir } from 'node:os'
import path from 'node:path'
import type { Defect, Piece, Rig } from '../src/api/types'
import { feed, records } from './helpers'

const BINARY = process.env['FULLSET_BIN'] ?? '../target/debug/fullset'
const FILE = '../target/offline.sqlite'
const PASSWORD = 'county-demo-only'
const IMAGE = 'public/icon-512.png'

/** The service, and in front of it a line that can be cut. */
class Basement {
  #service: ChildProcess | null = null
  #door: Server
  #port = 0
  /** So many answers of commands are swallowed after the service gave them. */
  cut = 0
  swallowed = 0
  readonly uploads: string[] = []

  constructor() {
    this.#door = createServer((incoming, outgoing) => {
      const { method, url, headers } = incoming
      if (method === 'PUT' && url?.startsWith('/v1/photos/')) this.uploads.push(url)
      const onward = ask({ host: '127.0.0.1', port: this.#port, method, path: url, headers }, (answer) => {
        if (url === '/v1/commands' && this.cut > 0) {
          this.cut--
          answer.resume().on('end', () => {
            this.swallowed++
            outgoing.destroy()
          })
          return
        }
        outgoing.writeHead(answer.statusCode ?? 502, answer.headers)
        answer.pipe(outgoing).on('close', () => answer.destroy())
      })
      onward.on('error', () => outgoing.destroy())
      outgoing.on('close', () => onward.destroy())
      incoming.pipe(onward)
    })
  }

  get url() {
    return `http://127.0.0.1:${(this.#door.address() as AddressInfo).port}`
  }
  async open() {
    await new Promise<void>((ready) => this.#door.listen(0, '127.0.0.1', ready))
    const free = createServer().listen(0, '127.0.0.1')
    await new Promise((ready) => free.once('listening', ready))
    this.#port = (free.address() as AddressInfo).port
    await new Promise((closed) => free.close(closed))
  }
  async start() {
    this.#service = spawn(BINARY, ['demo', '--file', FILE, '--listen', `127.0.0.1:${this.#port}`], {
      stdio: 'ignore',
    })
    await expect(async () => {
      expect((await fetch(`http://127.0.0.1:${this.#port}/healthz`)).status).toBe(200)
    }).toPass({ timeout: 60_000 })
  }
  /** As a power cut would. */
  async stop() {
    const service = this.#service
    if (!service || service.exitCode !== null) return
    const gone = new Promise((ended) => service.once('exit', ended))
    service.kill('SIGKILL')
    await gone
    this.#service = null
  }
  async close() {
    await this.stop()
    this.#door.closeAllConnections()
    await new Promise((closed) => this.#door.close(closed))
  }
}

const basement = new Basement()
let folder = ''
test.beforeAll(async () => {
  test.setTimeout(90_000)
  for (const end of ['', '-shm', '-wal']) rmSync(FILE + end, { force: true })
  // Told to the end before anything is stopped: a story that broke off would be a smaller county.
  execFileSync(BINARY, ['demo', '--file', FILE, '--seed-only'], { stdio: 'ignore' })
  await basement.open()
})
test.afterAll(() => basement.close())
test.beforeEach(async () => {
  test.setTimeout(90_000)
  folder = mkdtempSync(path.join(tmpdir(), 'phone-'))
  basement.cut = basement.swallowed = 0
  await basement.stop()
  await basement.start()
})
test.afterEach(() => rmSync(folder, { recursive: true, force: true, maxRetries: 5 }))

async function takePhone(): Promise<{ context: BrowserContext; page: Page }> {
  const { launchOptions } = test.info().project.use
  const context = await chromium.launchPersistentContext(folder, {
    ...launchOptions,
    baseURL: basement.url,
    viewport: { width: 390, height: 844 },
  })
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

async function report(page: Page, piece: Piece | undefined, words: string, photo?: string) {
  await page.goto(`/pieces/${piece?.id}/report`)
  await page.getByLabel('In your own words').fill(words)
  if (photo) {
    await page.getByLabel('Choose photos').setInputFiles(photo)
    await expect(page.getByRole('img', { name: 'Photo 1 of the defect' })).toBeVisible()
  }
  await page.getByRole('button', { name: 'Send: out of service' }).click()
  await expect(page).toHaveURL(new RegExp(`/pieces/${piece?.id}$`))
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
  await basement.start()
  await expect(again.page.getByText('Live', { exact: true })).toBeVisible({ timeout: 30_000 })
  await again.context.close()
})

test('a defect with its photo, reported with no server: kept over a new start, stored once though answers are lost', async () => {
  const { context, page } = await takePhone()
  await ready(page)
  const [piece] = await pieces(page, 1)
  const document = (await (await fetch(`${basement.url}/openapi.json`)).json()) as { paths: object }
  const photos = Object.keys(document.paths).some((p) => p.startsWith('/v1/photos/'))
  await basement.stop()
  await report(page, piece, 'Crack behind the blade', photos ? IMAGE : undefined)
  await expect(page.getByText(/Kept on this phone/)).toBeVisible()
  await expect(page.getByText('No. It must not be used.')).toBeVisible()
  await expect(page.getByText(/waiting on this phone/i).first()).toBeVisible()
  await expect(page.getByRole('link', { name: /1 waiting/ })).toBeVisible()
  await context.close()

  const again = await takePhone()
  await again.page.goto(`/pieces/${piece?.id}`)
  await expect(again.page.getByText('Crack behind the blade').first()).toBeVisible()
  await expect(again.page.getByRole('link', { name: /1 waiting/ })).toBeVisible()
  basement.cut = 2
  await basement.start()
  await expect(again.page.getByRole('link', { name: /waiting/ })).toBeHidden({ timeout: 45_000 })
  expect(basement.swallowed).toBe(2)
  const stored = await defectsCalled(again.page, 'Crack behind the blade')
  expect(stored).toHaveLength(1)
  await expect(again.page.getByText('No. It must not be used.')).toBeVisible()
  if (photos) {
    const { photos: shas } = stored[0] as unknown as { photos: string[] }
    expect(shas).toHaveLength(1)
    expect(new Set(basement.uploads)).toEqual(new Set([`/v1/photos/${shas[0]}`]))
    const seen = await again.page.evaluate(async (sha) => {
      const answer = await fetch(`/v1/photos/${sha}`)
      return [answer.status, answer.headers.get('content-type')]
    }, shas[0])
    expect(seen).toEqual([200, 'image/jpeg'])
  }
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
  await basement.start()
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
  await basement.start()
  await expect(page.getByText(/1 act of Pia Lindqvort waits? on this phone/)).toBeVisible({ timeout: 45_000 })
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
  await expect(dialog).toContainText('1 act has not reached the server')
  await dialog.getByRole('button', { name: 'Sign out and lose it' }).click()
  await expect(page.getByLabel('E-mail')).toBeVisible()
  const left = await page.evaluate(async () => {
    const db = await new Promise<IDBDatabase>((resolve) => {
      const opening = indexedDB.open('fullset')
      opening.onsuccess = () => resolve(opening.result)
    })
    const count = (name: string) =>
      new Promise<number>((resolve) => {
        const counting = db.transaction(name).objectStore(name).count()
        counting.onsuccess = () => resolve(counting.result)
      })
    const counts = await Promise.all(['records', 'outbox', 'photos'].map(count))
    db.close()
    return counts
  })
  expect(left).toEqual([0, 0, 0])
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
