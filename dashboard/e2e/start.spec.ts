// From nothing to a true board: a new user with a register file, by the guide on the board alone. It says how many clicks that
// takes, and how long; what the board then says of each rig is held against the API.
import { expect as plain, type Page } from '@playwright/test'
import type { Board, Rig, RigStanding } from '../src/api/types'
import { levelWord } from '../src/words/level'
import { answer, feed, records } from './helpers'
import { install, type Installed } from './installed'
import { readable } from './readable'
import { test } from './test'

const REGISTER = '../tests/published/data/register/messy.csv'
/** A loaded machine may take so long over a password, or over judging every rig. */
const expect = plain.configure({ timeout: 60_000 })
const SHOTS = process.env['E2E_SHOTS']
const SIZES = [
  { name: 'phone', width: 390, height: 844 },
  { name: 'tablet', width: 768, height: 1024 },
  { name: 'desk', width: 1440, height: 900 },
]

let service: Installed
test.beforeEach(async () => {
  test.setTimeout(300_000)
  service = await install()
})
test.afterEach(() => service.end())

/** Counts what the user clicks, over all pages of this tab. */
const countClicks = () => {
  addEventListener(
    'click',
    (event) => {
      // A label's click comes a second time, from its box.
      if (event.isTrusted && event.detail > 0)
        sessionStorage.setItem('clicks', String(Number(sessionStorage.getItem('clicks') ?? 0) + 1))
    },
    true,
  )
}
const clicks = (page: Page) => page.evaluate(() => Number(sessionStorage.getItem('clicks')))
const guide = (page: Page) => page.getByRole('region', { name: /^Setting up:/ })
/** The one act that stands out. */
const next = (page: Page) => guide(page).locator('a.strong')

async function toBoard(page: Page) {
  await page.getByRole('navigation', { name: 'Main' }).getByRole('link', { name: 'Board' }).click()
  await expect(page).toHaveURL(/\/$/)
}
async function go(page: Page, words: string | RegExp) {
  await expect(next(page)).toHaveCount(1)
  await expect(next(page)).toHaveText(words)
  await next(page).click()
}

/** The board in this state; at each size and in both schemes in `make nightly`, and where somebody asked for pictures. */
async function look(page: Page, name: string, at: string) {
  const every = Boolean(SHOTS ?? process.env['E2E_EVERY_LOOK'])
  for (const { name: size, width, height } of SIZES.filter((one) => every || one.name === at)) {
    await page.setViewportSize({ width, height })
    for (const colorScheme of every ? (['light', 'dark'] as const) : (['light'] as const)) {
      await page.emulateMedia({ colorScheme })
      await readable(page, `${name} ${size} ${colorScheme}`, size === 'phone')
      if (SHOTS) await page.screenshot({ path: `${SHOTS}/${name}-${size}-${colorScheme}.png` })
    }
  }
  await page.emulateMedia({ colorScheme: 'light' })
  await page.setViewportSize({ width: 1440, height: 900 })
}

async function found(page: Page) {
  await page.goto(service.address)
  await page.getByLabel('Code').fill(service.code)
  await page.getByLabel('Name of the agency').fill('Tallow County Fire')
  await page.getByLabel('Your name').fill('Ada Admin')
  await page.getByLabel('Your e-mail').fill('ada@tallow.example')
  await page.getByLabel('A password').fill('three quiet words')
  await page.getByRole('button', { name: 'Found the agency' }).click()
  await expect(page.getByRole('heading', { level: 1 })).toHaveText('No rigs yet')
}

test('a new user gets from an empty database to a true board by the guide alone', async ({
  page,
  browser,
}) => {
  const begun = Date.now()
  let apart = 0
  const looked = async (name: string, size: string) => {
    const at = Date.now()
    await look(page, name, size)
    apart += Date.now() - at
  }
  await page.addInitScript(countClicks)
  await found(page)
  await expect(guide(page)).toContainText('0 of 8 steps done')
  await looked('founded', 'phone')

  await go(page, 'Import the register')
  await page.locator('input[type=file]').setInputFiles(REGISTER)
  await expect(page.getByRole('heading', { name: /^295 rows would be taken in, 9 refused/ })).toBeVisible()
  await page.getByRole('button', { name: 'Import 295 rows' }).click()
  await expect(page.getByRole('heading', { name: /^295 rows taken in, 9 refused/ })).toBeVisible()
  await toBoard(page)
  await expect(page.getByRole('heading', { level: 1 })).toHaveText('Grades not set')
  await expect(page.locator('.district').getByText('Not judged yet', { exact: true })).toHaveCount(28)
  await expect(page.locator('.district').getByText('None', { exact: true })).toHaveCount(0)

  await go(page, 'Choose the grades')
  await page
    .getByRole('region', { name: /^NFPA 1936/ })
    .getByRole('button', { name: 'Begin from this' })
    .click()
  await page.getByLabel('Why, as the record keeps it').fill('Our figures come with the next revision')
  await page.getByRole('button', { name: 'Save the grades' }).click()
  await expect(page.getByRole('button', { name: 'Leave it as it was' })).toBeHidden()
  await toBoard(page)
  await expect(page.locator('.district').getByText('expected: not set')).toHaveCount(28)

  await go(page, 'Add a rig class')
  const dialog = page.getByRole('dialog')
  await dialog.getByLabel('Name', { exact: true }).fill('Rescue company')
  await dialog.getByLabel('Its rigs should reach').selectOption({ label: 'Full' })
  const carry = dialog.getByLabel('Begin with what rigs carry today')
  await carry.selectOption({ index: 1 })
  await dialog.getByRole('button', { name: 'Add the class' }).click()
  await expect(dialog).toBeHidden()
  await toBoard(page)
  await expect(guide(page)).toContainText('28 of 28 front-line rigs have no class')
  await looked('middle', 'tablet')

  await go(page, 'Choose their class')
  await page.getByRole('button', { name: 'Choose all 28 of the list' }).click()
  await page.getByRole('button', { name: 'Choose their class' }).click()
  await dialog.getByRole('button', { name: 'Set it' }).click()
  await expect(dialog).toBeHidden({ timeout: 180_000 })
  await toBoard(page)

  await go(page, 'Invite a member')
  await dialog.getByLabel('Name').fill('Bo Crew')
  await dialog.getByLabel('E-mail, to sign in with').fill('bo@tallow.example')
  await dialog.getByRole('button', { name: 'Make the link' }).click()
  await expect(dialog.getByText('It is shown this once.')).toBeVisible()
  await dialog.getByRole('button', { name: 'Close' }).click()
  await toBoard(page)

  await go(page, 'Add a device')
  await dialog.getByRole('button', { name: 'Make a code' }).click()
  const code = (await dialog.locator('.letters').textContent()) ?? ''
  const phone = await (await browser.newContext({ viewport: SIZES[0] })).newPage()
  await phone.goto(`${service.address}/enrol#${code}`)
  await phone.getByRole('button', { name: 'Add this device' }).click()
  await expect(phone).toHaveURL(/\/mine$/)
  await phone.context().close()
  await dialog.getByRole('button', { name: 'Close' }).click()
  await toBoard(page)

  await go(page, 'Choose check plans')
  await page.getByLabel('Kind of gear').selectOption({ label: 'Cutter' })
  await page.getByLabel('Rhythm').selectOption({ label: 'Weekly' })
  await page.getByRole('button', { name: 'Choose all that are shown' }).click()
  await page.getByRole('button', { name: 'Go on with 1 plan' }).click()
  await page.getByRole('button', { name: 'Put 1 plan in force' }).click()
  await expect(page.getByText('1 of 1 answered')).toBeVisible()
  await toBoard(page)

  await go(page, /^Check /)
  // A weekly plan that is new is not due yet: what is checked all the same is chosen.
  await page.getByRole('checkbox').first().check()
  await page.getByRole('button', { name: /^Begin: \d+ steps on/ }).click()
  const send = page.getByRole('button', { name: 'Sign and send: 1 check' })
  const yes = page.getByRole('button', { name: 'Yes', exact: true })
  while (!(await send.isVisible())) {
    // As a thumb that has read it.
    await page.waitForTimeout(400)
    await yes.or(send).first().waitFor()
    if (await yes.isVisible()) await yes.click()
  }
  await send.click()
  await expect(page.getByText('Passed', { exact: true })).toBeVisible()
  await toBoard(page)

  await expect(guide(page)).toHaveCount(0)
  const taken = Math.round((Date.now() - begun - apart) / 1000)
  console.log(`From nothing to a true board: ${await clicks(page)} clicks, ${taken} s`)
  await looked('end', 'desk')

  const { headline } = await answer<Board>(page, '/v1/board')
  await expect(page.getByRole('heading', { level: 1 })).toHaveText(
    `${headline.able} of ${headline.expected} rigs meant for it can do a full extrication; ${headline.confirmed} confirmed`,
  )
  expect(headline.expected).toBe(28)
  const told = await feed(page)
  const names = new Map(records<Rig>(told, 'rig').map((rig) => [rig.id, rig.name]))
  const standings = records<RigStanding>(told, 'rig_standing')
  expect(standings).toHaveLength(28)
  for (const { id, level } of standings) {
    const name = names.get(id) ?? ''
    const row = page
      .locator('.district li.rig')
      .filter({ has: page.getByRole('link', { name, exact: true }) })
    await expect(row.getByText(levelWord(level), { exact: true }), name).toBeVisible()
  }
})
