// How long a phone waits for its first screen over a weak signal: 400 kb/s, 400 ms to the service and back, a processor at a quarter.
// Somebody who comes for the first time sees the sign-in; a phone that was here before opens its rig from what it keeps.
// Say the address of a service that holds the demo county: node scripts/paint.js URL [times]
import { existsSync } from 'node:fs'
import path from 'node:path'
import { chromium, devices } from '@playwright/test'

const [base, times = '3'] = process.argv.slice(2)
if (!base) throw new Error('Say the address of a service: node scripts/paint.js http://127.0.0.1:8080')
const LINE = {
  offline: false,
  latency: 400,
  downloadThroughput: 400_000 / 8,
  uploadThroughput: 400_000 / 8,
  connectionType: 'cellular3g',
}
/** Long enough for the last paint, milliseconds. */
const SEEN_FOR = 8_000
const [EMAIL, PASSWORD] = ['crew@tamarrow.example', 'county-demo-only']

/** The system's own browser. */
const installed = (name) =>
  (process.env['PATH'] ?? '')
    .split(path.delimiter)
    .map((folder) => path.join(folder, name))
    .find((file) => existsSync(file))

const browser = await chromium.launch({
  executablePath: process.env['CHROMIUM'] ?? installed('chromium-headless-shell') ?? installed('chromium'),
  args: ['--no-sandbox'],
})

/** What was painted and when, milliseconds after the address was entered. */
async function visit(address, again) {
  const context = await browser.newContext({ ...devices['Pixel 7'], ignoreHTTPSErrors: true })
  if (again) await before(context)
  const page = await context.newPage()
  await page.addInitScript(() => {
    globalThis.paints = []
    new PerformanceObserver((list) => {
      for (const one of list.getEntries())
        globalThis.paints.push([one.startTime, one.size, one.element?.outerHTML?.slice(0, 80) ?? ''])
    }).observe({ type: 'largest-contentful-paint', buffered: true })
  })
  const devtools = await context.newCDPSession(page)
  await devtools.send('Network.enable')
  await devtools.send('Network.emulateNetworkConditions', LINE)
  await devtools.send('Emulation.setCPUThrottlingRate', { rate: 4 })
  await page.goto(base + address, { waitUntil: 'commit' })
  await page.waitForTimeout(SEEN_FOR)
  const paints = await page.evaluate(() => globalThis.paints)
  const loads = await page.evaluate(() =>
    performance
      .getEntriesByType('resource')
      .map((one) => [Math.round(one.startTime), Math.round(one.responseEnd), one.transferSize, one.name]),
  )
  await context.close()
  return { paints, loads }
}

/** Signs in over a good line and waits until the phone keeps the app and its records. */
async function before(context) {
  const page = await context.newPage()
  await page.goto(`${base}/mine`)
  await page.getByLabel('E-mail').fill(EMAIL)
  await page.getByLabel('Password').fill(PASSWORD)
  await page.getByRole('button', { name: 'Sign in' }).click()
  const rigs = page.getByRole('main').getByRole('button', { name: /Engine|Ladder|Rescue/ })
  await rigs.first().click()
  await page.evaluate(() => navigator.serviceWorker.ready)
  await page.waitForTimeout(SEEN_FOR)
  await page.close()
}

const middle = (list) => list.toSorted((a, b) => a - b)[Math.floor(list.length / 2)]
for (const [name, address, again] of [
  ['sign-in, nothing kept', '/', false],
  ['own rig, opened again', '/mine', true],
]) {
  const last = []
  for (let nth = 0; nth < Number(times); nth++) {
    const { paints, loads } = await visit(address, again)
    last.push(paints.at(-1)?.[0] ?? Infinity)
    if (process.env['SHOW']) console.log(paints, loads)
  }
  console.log(
    `${name}: largest paint after ${(middle(last) / 1000).toFixed(2)} s (middle of ${last.map((ms) => (ms / 1000).toFixed(2)).join(', ')})`,
  )
}
await browser.close()
