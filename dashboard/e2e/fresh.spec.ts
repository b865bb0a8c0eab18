// A new agency: a register is imported, the board says that the grades are not set, somebody chooses a template, and only then
// is any rig judged.
import type { Page } from '@playwright/test'
import { execFileSync, spawn, type ChildProcess } from 'node:child_process'
import { mkdtempSync, rmSync } from 'node:fs'
import { createServer } from 'node:net'
import type { AddressInfo } from 'node:net'
import { tmpdir } from 'node:os'
import path from 'node:path'
import { BINARY } from './county'
import { answer, command, feed, records } from './helpers'
import type { Rig } from '../src/api/types'
import { readable } from './readable'
import { expect, test } from './test'

const REGISTER = '../tests/published/data/register/clean.csv'
const ADMIN = 'founder@fresh.example'
const PASSWORD = 'a-long-word-for-tests'
const SIZES = [
  { name: 'desk', width: 1440, height: 900 },
  { name: 'phone', width: 390, height: 844 },
]

let folder = ''
let service: ChildProcess | null = null
let url = ''

async function free(): Promise<number> {
  const door = createServer().listen(0, '127.0.0.1')
  await new Promise((ready) => door.once('listening', ready))
  const { port } = door.address() as AddressInfo
  await new Promise((closed) => door.close(closed))
  return port
}

test.beforeEach(async () => {
  test.setTimeout(120_000)
  folder = mkdtempSync(path.join(tmpdir(), 'fresh-'))
  const database = ['--database', `sqlite:${path.join(folder, 'fresh.sqlite')}`]
  const setup = ['setup', ...database, '--agency', 'Fresh County', '--admin', ADMIN, '--password-stdin']
  execFileSync(BINARY, setup, { input: `${PASSWORD}\n`, stdio: ['pipe', 'ignore', 'inherit'] })
  execFileSync(BINARY, ['import', 'register', REGISTER, ...database], { stdio: 'ignore' })
  const listen = `127.0.0.1:${await free()}`
  service = spawn(BINARY, ['serve', ...database, '--listen', listen], { stdio: 'ignore' })
  url = `http://${listen}`
  await expect(async () => expect((await fetch(`${url}/healthz`)).status).toBe(200)).toPass({
    timeout: 60_000,
  })
})
test.afterEach(async () => {
  const gone = new Promise((ended) => service?.once('exit', ended))
  service?.kill('SIGTERM')
  await gone
  rmSync(folder, { recursive: true, force: true, maxRetries: 5 })
})

async function enter(page: Page) {
  await page.goto(`${url}/`)
  await page.getByLabel('E-mail').fill(ADMIN)
  await page.getByLabel('Password').fill(PASSWORD)
  await page.getByRole('button', { name: 'Sign in' }).click()
  await expect(page.getByText('Live', { exact: true })).toBeVisible()
}

/** The register names no rig classes: all rigs go into one, which expects nothing yet. */
async function classify(page: Page) {
  const id = '0193f000-0000-7000-8000-000000000001'
  const slots = [{ id: 'cutter', name: 'Cutter', kinds: ['cutter'], required: true }]
  const made = await command(page, 'rig_class.add', { id, name: 'Rescue engine', complement: { slots } })
  expect(made?.outcome, JSON.stringify(made)).toBe('applied')
  for (const rig of records<Rig>(await feed(page), 'rig'))
    await command(page, 'rig.edit', { id: rig.id, rig_class: id }, rig.rev)
}

const TEMPLATES = ['EN 13204', 'NFPA 1936']

for (const [n, size] of SIZES.entries()) {
  // Each size and each template once; every pair of them in `make nightly`.
  for (const template of process.env['E2E_EVERY_LOOK'] ? TEMPLATES : TEMPLATES.slice(n, n + 1)) {
    test(`grades not set, then ${template} is chosen and every rig is judged, on a ${size.name}`, async ({
      page,
    }) => {
      await page.setViewportSize(size)
      await enter(page)
      await classify(page)
      await page.goto(`${url}/`)
      await expect(page.getByRole('heading', { level: 1 })).toHaveText('Grades not set')
      const rows = page.locator('.district li.rig')
      await expect(rows.first()).toBeVisible()
      const count = await rows.count()
      await expect(page.locator('.district').getByText('Not judged yet', { exact: true })).toHaveCount(count)
      await expect(page.locator('.district').getByText('None', { exact: true })).toHaveCount(0)
      await readable(page, 'board without grades', size.name === 'phone')

      await page.getByRole('link', { name: 'Choose the grades' }).click()
      await expect(page.getByText(/^Source: /).first()).toBeVisible()
      await readable(page, 'templates', size.name === 'phone')
      await page
        .getByRole('region', { name: new RegExp(`^${template}`) })
        .getByRole('button', { name: 'Begin from this' })
        .click()
      for (const select of await page
        .getByRole('region', { name: /should reach/ })
        .getByRole('combobox')
        .all())
        await select.selectOption({ label: 'Full' })
      await expect(page.getByText('What it would do')).toBeVisible()
      await expect(page.locator('.effect')).toContainText(/rigs? (go|goes) from not judged/, {
        timeout: 15_000,
      })
      await readable(page, 'grades', size.name === 'phone')
      // Grades that any tool of the kind meets say why; the published figures do not have to.
      const why = page.getByLabel('Why, as the record keeps it')
      if (template.startsWith('NFPA')) await why.fill('Our figures come with the next revision')
      else await expect(why).toHaveCount(0)
      await page.getByRole('button', { name: 'Save the grades' }).click()
      await expect(page.getByText('Saved. Every rig is judged by it now.')).toBeVisible()

      await page.goto(`${url}/`)
      const words = /(\d+) of (\d+) rigs meant for it can do a full extrication; (\d+) confirmed/
      const head = page.getByRole('heading', { level: 1 })
      await expect(head).toHaveText(words)
      await expect(page.locator('.district').getByText('Not judged yet', { exact: true })).toHaveCount(0)
      await expect(page.getByText(/not counted yet/)).toHaveCount(0, { timeout: 15_000 })
      const [, able, expected] = words.exec((await head.textContent()) ?? '') ?? []
      const board = await answer<{ headline: { expected: number; able: number } }>(page, '/v1/board')
      expect([able, expected].map(Number)).toEqual([board.headline.able, board.headline.expected])
    })
  }
}
