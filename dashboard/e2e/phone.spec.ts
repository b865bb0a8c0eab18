import type { Page } from '@playwright/test'
import { readFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import path from 'node:path'
import {
  command,
  EMAIL,
  feed,
  fillRelease,
  giveBack,
  PASSWORD,
  records,
  signedIn,
  signIn,
  visit,
} from './helpers'
import { looks, readable } from './readable'
import { film, picture } from './film'
import { expect, test as base } from './test'
import type { Change, Member, Piece, Rig, RigStanding } from '../src/api/types'

/** A piece on a rig with no open defect: its label is what the fake camera sees. */
async function labelled(baseURL: string): Promise<Piece> {
  const headers = { 'content-type': 'application/json', origin: baseURL }
  const body = JSON.stringify({ email: EMAIL, password: PASSWORD, browser: true })
  const session = await fetch(`${baseURL}/v1/session`, { method: 'POST', headers, body })
  const cookie = session.headers
    .getSetCookie()
    .map((c) => c.split(';')[0])
    .join('; ')
  const changes: Change[] = []
  for (let since = ''; ;) {
    const url = `${baseURL}/v1/changes?limit=500${since ? `&since=${encodeURIComponent(since)}` : ''}`
    const page = (await (await fetch(url, { headers: { cookie } })).json()) as {
      changes: Change[]
      next: string
      more: boolean
    }
    changes.push(...page.changes)
    since = page.next
    if (!page.more) break
  }
  const marked = new Set(
    records<{ piece: string; state: string }>(changes, 'defect')
      .filter((d) => d.state === 'open')
      .map((d) => d.piece),
  )
  const piece = records<Piece>(changes, 'piece').find(
    (p) => p.kind === 'cutter' && p.place.at === 'rig' && p.state === 'in_service' && !marked.has(p.id),
  )
  if (!piece) throw new Error('no sound cutter on a rig in this agency')
  return piece
}

const test = base.extend<object, { label: Piece }>({
  label: [async ({}, use) => use(await labelled(process.env['BASE_URL'] ?? '')), { scope: 'worker' }],
  launchOptions: [
    async ({ launchOptions, label }, use) => {
      const file = path.join(tmpdir(), `fullset-label-${process.pid}.y4m`)
      film(file, `https://labels.fullset.example/tag/${encodeURIComponent(label.tag)}`)
      await use({
        ...launchOptions,
        args: [
          ...(launchOptions.args ?? []),
          '--use-fake-ui-for-media-stream',
          '--use-fake-device-for-media-stream',
          `--use-file-for-fake-video-capture=${file}`,
        ],
      })
    },
    { scope: 'worker' },
  ],
})
test.use({ serviceWorkers: 'allow' })

test.use({ viewport: { width: 390, height: 844 }, hasTouch: true, permissions: ['camera'] })

const photo = { name: 'seen.png', mimeType: 'image/png', buffer: picture() }

test('from scan to "defect sent" with a photo, by one thumb', async ({ page, label }) => {
  await signedIn(page)
  await rigOf(page, label)
  let taps = 0
  /** A thumb in a glove: it looks, then it taps. */
  const tap = async (name: RegExp | string, role: 'button' | 'link' = 'button') => {
    await page.waitForTimeout(900)
    await page.getByRole(role, { name }).first().tap()
    taps++
  }
  const started = Date.now()
  await tap('Scan a label', 'link')
  await expect(page.locator('.flash')).toHaveText(label.tag, { timeout: 10_000 })
  await expect(page.getByRole('heading', { level: 1 })).toContainText(label.tag)
  await tap('Report a defect', 'link')
  await page.getByLabel('Take a photo').setInputFiles(photo)
  await expect(page.getByAltText('Photo 1 of the defect')).toBeVisible()
  await tap('Bent or deformed')
  await tap('Send: out of service')
  await expect(page.getByRole('heading', { level: 1 })).toHaveText(`${label.tag} is out of service`)
  const seconds = (Date.now() - started) / 1000
  console.log(`scan to defect sent: ${taps} taps, ${seconds.toFixed(1)} s with a pause of 0.9 s before each`)
  expect(taps).toBeLessThanOrEqual(4)
  expect(seconds).toBeLessThanOrEqual(20)
  await page.getByRole('link', { name: `Back to ${label.tag}` }).tap()
  await expect(page.getByRole('heading', { name: 'Open defects (1)' })).toBeVisible()
  await giveBack(page, label.id)
})

/** Makes the rig of a piece the rig of this phone. */
async function rigOf(page: Page, piece: Piece) {
  const rig = piece.place.at === 'rig' ? piece.place.rig : ''
  await page.addInitScript((id) => localStorage.setItem('fullset.my-rig', id), rig)
  await page.goto('/mine')
  await expect(page.getByRole('link', { name: 'Scan a label' })).toBeVisible()
}

test('a label that is not ours, a tag that nobody knows, and typing', async ({ page, label }) => {
  await signIn(page, '/mine')
  await page.goto('/scan')
  await page.getByLabel('Or type the tag').fill('ZZ-0000')
  await page.getByRole('button', { name: 'Open' }).tap()
  await expect(page.getByText('No piece in this phone’s data carries this tag.')).toBeVisible()
  await page.getByRole('button', { name: 'Look it up on the server' }).tap()
  await expect(page.getByText('The server knows no piece with this tag either.')).toBeVisible()
  await page.goto(`/tag/${encodeURIComponent(label.tag)}`)
  await expect(page.getByRole('heading', { level: 1 })).toContainText(label.tag)
})

test('a camera that is refused says what to do, and the screen stays readable', async ({ page }) => {
  await page.addInitScript(() => {
    navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException('no', 'NotAllowedError'))
  })
  await signIn(page, '/scan')
  await expect(page.getByRole('alert')).toContainText('The camera is not allowed')
  await expect(page.getByRole('alert')).toContainText('Or type the tag')
  await expect(page.getByLabel('Or type the tag')).toBeVisible()
  await readable(page, 'refused camera', true)
})

test('without signal a defect waits with its photo, can be taken back, and goes once', async ({
  page,
  context,
  label,
}) => {
  await signedIn(page)
  await rigOf(page, label)
  // The worker has put the whole app on the phone.
  await page.evaluate(async () => void (await navigator.serviceWorker.ready))
  await page.goto(`/pieces/${label.id}`)
  await page.getByRole('link', { name: 'Report a defect' }).tap()
  await expect(page.getByRole('button', { name: 'Bent or deformed' })).toBeVisible()
  await context.setOffline(true)
  await page.getByRole('button', { name: 'Bent or deformed' }).tap()
  await page.getByLabel('Choose photos').setInputFiles(photo)
  await expect(page.getByAltText('Photo 1 of the defect')).toBeVisible()
  await page.getByRole('button', { name: 'Send: out of service' }).tap()
  await expect(page.getByText('it goes when the signal is back', { exact: false })).toBeVisible({
    timeout: 15_000,
  })
  await page.getByRole('button', { name: /^Undo/ }).tap()
  await expect(page.getByText('Taken back. Nothing was sent.')).toBeVisible()

  await page.getByRole('link', { name: 'Report a defect' }).tap()
  await page.getByRole('button', { name: 'Bent or deformed' }).tap()
  await page.getByRole('button', { name: 'Send: out of service' }).tap()
  await expect(page.getByText('it goes when the signal is back', { exact: false })).toBeVisible({
    timeout: 15_000,
  })
  await page
    .getByRole('navigation', { name: 'Main' })
    .getByRole('link', { name: /Outbox/ })
    .tap()
  await expect(page.getByRole('heading', { level: 1 })).toHaveText('1 report waiting')
  // It goes by itself.
  await context.setOffline(false)
  await expect(page.getByRole('heading', { level: 1 })).toHaveText('Nothing waits on this phone', {
    timeout: 15_000,
  })
  const open = records<{ piece: string; state: string }>(await feed(page), 'defect').filter(
    (d) => d.piece === label.id && d.state === 'open',
  )
  expect(open).toHaveLength(1)
  await giveBack(page, label.id)
})

test('without signal a stand-in comes from the own shelf, unranked, and says so', async ({
  page,
  context,
}) => {
  await signIn(page, '/mine')
  const gapped = records<RigStanding>(await feed(page), 'rig_standing').find((one) => one.gaps.length)
  await page.goto(`/rigs/${gapped?.id}/swap`)
  await expect(page.getByRole('heading', { name: /Which piece/ })).toBeVisible()
  await context.setOffline(true)
  await page.evaluate(() => document.dispatchEvent(new Event('visibilitychange')))
  await expect(page.getByText('No signal.', { exact: false })).toBeVisible({ timeout: 20_000 })
  await expect(page.getByText('in no order of merit', { exact: false })).toBeVisible()
  await context.setOffline(false)
})

test('a conflict is shown with both sides, and a person chooses', async ({
  page,
  context,
  browser,
  label,
}) => {
  await signIn(page, '/mine')
  await command(page, 'piece.take_out', { id: label.id, reason: 'Test of a conflict', planned: true })
  await page.goto(`/pieces/${label.id}`)
  await page.getByRole('button', { name: 'Return to service' }).tap()
  const dialog = page.getByRole('dialog')
  await fillRelease(page, label.id, 'Tried on the bench')
  await context.setOffline(true)
  await dialog.getByRole('button', { name: 'Return to service' }).tap()
  await expect(page.getByText('it goes when the signal is back', { exact: false })).toBeVisible({
    timeout: 15_000,
  })
  const desk = await browser.newPage()
  await signedIn(desk)
  await command(desk, 'piece.take_out', { id: label.id, reason: 'Leaks after all', planned: true })
  await desk.close()
  await context.setOffline(false)
  await page.goto('/outbox')
  const row = page.locator('li.conflict')
  await expect(row.getByText('Tried on the bench', { exact: false })).toBeVisible({ timeout: 15_000 })
  await expect(row.getByText('Reason: “Leaks after all”')).toBeVisible()
  await row.getByRole('button', { name: 'Keep what stands' }).tap()
  await expect(page.getByRole('heading', { level: 1 })).toHaveText('Nothing waits on this phone')
  const now = records<Piece>(await feed(page), 'piece').find((p) => p.id === label.id)
  expect(now?.state).toBe('out_of_service')
  await giveBack(page, label.id)
})

test('a shared tablet is added by a code, and everything done on it is signed with a PIN', async ({
  page,
  browser,
  label,
}) => {
  // A sign-in of more than ten minutes ago is asked for the password again.
  await signIn(page, '/devices', true)
  await page.getByRole('button', { name: 'Add a device' }).tap()
  const dialog = page.getByRole('dialog')
  await dialog.getByLabel(/tablet/).check()
  const home = records<Rig>(await feed(page), 'rig').find(
    (r) => label.place.at === 'rig' && r.id === label.place.rig,
  )
  await dialog.getByRole('combobox').selectOption(home?.station ?? '')
  await dialog.getByRole('button', { name: 'Make a code' }).tap()
  const letters = dialog.locator('.letters')
  await expect(letters).toBeVisible()
  const code = (await letters.textContent()) ?? ''
  await dialog.getByRole('button', { name: 'Close' }).tap()
  await page.getByRole('button', { name: 'My PIN' }).tap()
  for (let time = 0; time < 2; time++) {
    for (const digit of '402917') await dialog.getByRole('button', { name: digit, exact: true }).tap()
  }
  await expect(page.getByText('Your PIN is set', { exact: false })).toBeVisible()

  const tablet = await (await browser.newContext({ viewport: { width: 820, height: 1180 } })).newPage()
  await tablet.goto(`/enrol#${code}`)
  await expect(tablet.getByLabel('Code')).toHaveValue(code)
  await tablet.getByLabel('Name of this device').fill('Bay tablet')
  await tablet.getByRole('button', { name: 'Add this device' }).click()
  await expect(tablet.getByRole('navigation', { name: 'Main' })).toBeVisible()
  await tablet.goto(`/pieces/${label.id}/report`)
  await tablet.getByRole('button', { name: 'Bent or deformed' }).click()
  await tablet.getByRole('button', { name: 'Send: out of service' }).click()
  const ask = tablet.getByRole('dialog')
  await expect(ask.getByText('Who does this?')).toBeVisible()
  // By name: others of the station may have a PIN too.
  const me = records<Member>(await feed(page), 'member').find((m) => m.email === process.env['E2E_EMAIL'])
  await ask.getByRole('button', { name: me?.name }).click()
  for (const digit of '402917') await ask.getByRole('button', { name: digit, exact: true }).click()
  await expect(tablet.getByText(/is out of service$/)).toBeVisible({
    timeout: 15_000,
  })
  await tablet.context().close()
  await page.reload()
  await expect(page.getByText('Bay tablet', { exact: true }).first()).toBeVisible()
  await giveBack(page, label.id)
})

test('a printed label is read back to the same address', async ({ page, label }) => {
  await signIn(page, `/labels?pieces=${label.id}&sheet=in-1`)
  await page.getByRole('button', { name: 'Print', exact: true }).waitFor()
  await page.emulateMedia({ media: 'print' })
  // As on paper: the page alone, at its true size.
  const width = await page.locator('svg.page').evaluate((svg) => svg.getBoundingClientRect().width / 96)
  expect([8.5, 210 / 25.4].some((inches) => Math.abs(width - inches) < 0.05)).toBe(true)
  await page.setViewportSize({ width: 900, height: 1200 })
  const shot = await page.locator('svg.page').screenshot()
  const { prepareZXingModule, readBarcodes } = await import('zxing-wasm/reader')
  const wasm = readFileSync(path.join('node_modules', 'zxing-wasm', 'dist', 'reader', 'zxing_reader.wasm'))
  await prepareZXingModule({
    overrides: {
      wasmBinary: wasm.buffer.slice(wasm.byteOffset, wasm.byteOffset + wasm.byteLength) as ArrayBuffer,
    },
    fireImmediately: true,
  })
  const [found] = await readBarcodes(new Uint8Array(shot), { formats: ['QRCode'] })
  expect(found?.text).toBe(`${new URL(page.url()).origin}/tag/${encodeURIComponent(label.tag)}`)
  expect(found?.ecLevel).toBe('Q')
})

test('what was used goes on record', async ({ page, label }) => {
  await signedIn(page)
  await rigOf(page, label)
  await page.getByRole('link', { name: 'Use record' }).tap()
  await page.getByRole('button', { name: new RegExp(`^${label.tag}`) }).tap()
  await page.getByRole('button', { name: 'Door removal' }).tap()
  await page.getByRole('button', { name: '20', exact: true }).tap()
  await page.getByRole('button', { name: 'Send: 1 piece used' }).tap()
  await expect(page.getByText('is on record', { exact: false })).toBeVisible()
})

for (const { size, scheme } of looks('phone')) {
  test(`the phone’s screens are readable, on a ${size.name}, ${scheme}`, async ({ page, label }) => {
    test.setTimeout(120_000)
    await page.setViewportSize(size)
    await page.emulateMedia({ colorScheme: scheme, reducedMotion: 'reduce' })
    await signIn(page, '/mine')
    const rig = label.place.at === 'rig' ? label.place.rig : ''
    await readable(page, 'choose a rig', size.name === 'phone')
    await rigOf(page, label)
    const paths = [
      '/mine',
      `/pieces/${label.id}`,
      `/pieces/${label.id}/report`,
      `/rigs/${rig}/use`,
      `/rigs/${rig}/swap`,
      '/outbox',
      '/labels?kind=cutter',
      '/devices',
      '/enrol',
      '/tag/ZZ-0000',
    ]
    for (const one of paths) {
      await visit(page, one)
      await readable(page, one, size.name === 'phone')
    }
    await page.goto('/mine')
    await page.getByRole('button', { name: 'Defect', exact: true }).click()
    await readable(page, 'which piece', size.name === 'phone')
  })
}
