import { createHmac } from 'node:crypto'
import type { Page } from '@playwright/test'
import { readable, tooSmall } from './readable'
import { originOf, PASSWORD, signIn } from './helpers'
import { expect, test } from './test'

test.describe.configure({ mode: 'serial' })

const PERSON = {
  name: 'Ida Invited',
  email: 'ida.invited@tamarrow.example',
  password: 'lantern-harbour-eleven',
}

/** The six digits of an authenticator (RFC 6238), so many steps from now. */
function digits(key: string, steps = 0): string {
  const bits = [...key].map((sign) =>
    'ABCDEFGHIJKLMNOPQRSTUVWXYZ234567'.indexOf(sign).toString(2).padStart(5, '0'),
  )
  const bytes = bits.join('').match(/.{8}/g) ?? []
  const counter = Buffer.alloc(8)
  counter.writeBigUInt64BE(BigInt(Math.floor(Date.now() / 30_000) + steps))
  const secret = Buffer.from(bytes.map((byte) => Number.parseInt(byte, 2)))
  const mac = createHmac('sha1', secret).update(counter).digest()
  const at = (mac.at(-1) ?? 0) & 15
  return String((mac.readUInt32BE(at) & 0x7fffffff) % 1_000_000).padStart(6, '0')
}

async function withPassword(page: Page) {
  await page.goto('/')
  await page.getByLabel('E-mail').fill(PERSON.email)
  await page.getByLabel('Password').fill(PERSON.password)
  await page.getByRole('button', { name: 'Sign in' }).click()
}
async function signOut(page: Page) {
  await page.locator('summary', { hasText: PERSON.name }).first().click()
  await page.getByRole('button', { name: 'Sign out', exact: true }).click()
  await expect(page.getByLabel('E-mail')).toBeVisible()
}
const inside = (page: Page) => expect(page.getByRole('navigation', { name: 'Main' })).toBeVisible()

test('an invitation is a link by which somebody chooses a password, once', async ({ page, browser }) => {
  await signIn(page, '/programme/people')
  await page.getByRole('button', { name: 'Invite a member' }).click()
  const dialog = page.getByRole('dialog')
  await dialog.getByLabel('Name').fill(PERSON.name)
  await dialog.getByLabel(/E-mail/).fill(PERSON.email)
  await dialog.getByLabel('Role').selectOption('officer')
  await dialog.getByRole('button', { name: 'Make the link' }).click()
  await expect(dialog.getByRole('img', { name: 'Link to scan' })).toBeVisible()
  const link = (await dialog.getByText(/\/link#/).innerText()).trim()
  expect(link).toMatch(/\/link#[A-Za-z0-9_-]{43}$/)
  await readable(page, 'invitation', false)

  const context = await browser.newContext({ serviceWorkers: 'block', viewport: { width: 390, height: 844 } })
  const guest = await context.newPage()
  await guest.goto(link)
  await expect(guest.getByText(`${PERSON.name}, welcome`)).toBeVisible()
  expect(guest.url()).not.toContain('#')
  await readable(guest, 'link', true)
  expect(await tooSmall(guest)).toEqual([])
  await guest.getByLabel(/^Password/).fill('idainvited2026')
  await guest.getByRole('button', { name: 'Set it and sign in' }).click()
  await expect(guest.getByText(/own name/)).toBeVisible()
  await guest.getByLabel(/^Password/).fill(PERSON.password)
  await guest.getByRole('button', { name: 'Set it and sign in' }).click()
  await inside(guest)
  await signOut(guest)
  await withPassword(guest)
  await inside(guest)
  await context.clearCookies()
  await guest.goto(link)
  await expect(guest.getByRole('alert')).toContainText('used')
  await context.close()
})

test('with a second factor a sign-in takes the password and a code', async ({ browser }) => {
  const context = await browser.newContext({ serviceWorkers: 'block' })
  const page = await context.newPage()
  await withPassword(page)
  await inside(page)
  await page.goto('/account')
  await page.getByRole('button', { name: 'Set it up' }).click()
  const dialog = page.getByRole('dialog')
  await dialog.getByLabel('Your present password').fill(PERSON.password)
  await dialog.getByRole('button', { name: 'Show the key' }).click()
  const key = (await dialog.getByText(/^[A-Z2-7]{32}$/).innerText()).trim()
  await dialog.getByLabel('Six digits').fill(digits(key))
  await dialog.getByRole('button', { name: 'Turn it on' }).click()
  await expect(dialog.getByText('The second factor is on')).toBeVisible()
  await readable(page, 'recovery codes', false)
  await dialog.getByLabel('I have written them down').check()
  await dialog.getByRole('button', { name: 'Go on' }).click()
  await expect(page.getByText('10 recovery codes are left')).toBeVisible()
  await readable(page, 'account', false)
  await signOut(page)

  await withPassword(page)
  const code = page.getByLabel(/Code from your authenticator/)
  await expect(code).toBeFocused()
  await readable(page, 'second half', false)
  await code.fill('000000')
  await page.getByRole('button', { name: 'Sign in' }).click()
  await expect(page.getByRole('alert')).toContainText('wrong')
  // That of this half minute confirmed it; the next counts as well.
  await code.fill(digits(key, 1))
  await page.getByRole('button', { name: 'Sign in' }).click()
  await inside(page)
  await context.close()
})

test('an admin sees how somebody signs in, makes a key, and reads what happened', async ({
  page,
  browser,
}) => {
  await signIn(page, `/programme/people?q=${PERSON.email}`, true)
  await page.getByRole('button', { name: /^Sign-in\b.*Ida Invited/ }).click()
  const dialog = page.getByRole('dialog')
  await expect(dialog.getByText('Has one.')).toBeVisible()
  await expect(dialog.getByText(/On since/)).toBeVisible()
  await readable(page, 'how somebody signs in', false)
  await dialog.getByRole('button', { name: 'Remove the second factor' }).click()
  await expect(dialog.getByText('Nowhere.')).toBeVisible()
  await page.keyboard.press('Escape')

  await page.goto('/programme/keys')
  await page.getByRole('button', { name: 'Make a key' }).click()
  await dialog.getByLabel(/Which program/).fill('Dispatch board')
  await dialog.getByRole('button', { name: 'Make the key' }).click()
  const key = (await dialog.getByText(/^fsk_/).innerText()).trim()
  const board = async () =>
    (await page.request.get('/v1/board', { headers: { authorization: `Bearer ${key}` } })).status()
  expect(await board()).toBe(200)
  const address = (await dialog.getByText(`/desk#${key}`).innerText()).trim()
  // A desk at dispatch has no sign-in: it reads by the address alone.
  const apart = await browser.newContext({ baseURL: originOf(page), viewport: { width: 1920, height: 1080 } })
  const desk = await apart.newPage()
  await desk.clock.install()
  await desk.goto(address)
  await expect(desk.getByRole('heading', { name: /full of \d+ wanted/ }).first()).toBeVisible()
  await expect(desk.getByText('Engine 1', { exact: true })).toBeVisible()
  await readable(desk, 'the desk at dispatch', false)
  await desk.setViewportSize({ width: 390, height: 844 })
  await readable(desk, 'the desk at dispatch on a phone', false)
  await page.keyboard.press('Escape')
  await expect(page.getByText('Dispatch board', { exact: true }).first()).toBeVisible()
  await readable(page, 'keys', false)
  await page.getByRole('button', { name: 'Revoke Dispatch board' }).click()
  await dialog.getByRole('button', { name: 'Revoke it' }).click()
  await expect(page.getByText('Over (1)')).toBeVisible()
  // The screen says so before the service has heard of it.
  await expect.poll(board).toBe(401)
  // What is not read any more is soon out of date, and says so with what to do.
  await desk.clock.fastForward(75_000)
  await expect(desk.getByRole('alert')).toContainText('Ask by radio or telephone.')
  await expect(desk.getByRole('alert')).toContainText('This key opens nothing any more')
  await expect(desk.getByText('was', { exact: true }).first()).toBeVisible()
  await apart.close()

  await page.goto('/programme/events')
  await expect(page.getByText('Second factor off').first()).toBeVisible()
  await expect(page.getByText('Key revoked').first()).toBeVisible()
  await readable(page, 'events', false)
})

test('what opens a way in asks for the password again', async ({ page }) => {
  await signIn(page, '/devices', true)
  // As the service answers whose password was given more than ten minutes ago.
  const problem = {
    type: 'urn:fullset:proof-needed',
    code: 'proof-needed',
    status: 403,
    title: '',
    detail: '',
  }
  await page.route(
    '**/v1/enrolments',
    (route) =>
      route.fulfill({ status: 403, contentType: 'application/problem+json', body: JSON.stringify(problem) }),
    { times: 1 },
  )
  await page.getByRole('button', { name: 'Add a device' }).click()
  const dialog = page.getByRole('dialog')
  await dialog.getByRole('button', { name: 'Make a code' }).click()
  await expect(dialog.getByText('Give your password first.')).toBeVisible()
  await readable(page, 'password again', false)
  const password = dialog.getByLabel('Your present password')
  await password.fill('not-the-password')
  await dialog.getByRole('button', { name: 'Go on' }).click()
  await expect(dialog.getByText(/not your present password/)).toBeVisible()
  await password.fill(PASSWORD)
  await dialog.getByRole('button', { name: 'Go on' }).click()
  await expect(dialog.locator('.letters')).toBeVisible()
})
