import type { Page } from '@playwright/test'
import { readable, tooSmall } from './readable'
import { PASSWORD } from './helpers'
import { expect, test } from './test'

const EMAIL = 'chief@tamarrow.example'
/** The one name under which the service offers passkeys. */
const HOME = (process.env['BASE_URL'] ?? '').replace('127.0.0.1', 'localhost')

/** The browser's own authenticator, which looks who it is and always finds the right one. */
async function authenticator(page: Page) {
  const cdp = await page.context().newCDPSession(page)
  await cdp.send('WebAuthn.enable')
  const { authenticatorId } = await cdp.send('WebAuthn.addVirtualAuthenticator', {
    options: {
      protocol: 'ctap2',
      transport: 'internal',
      hasResidentKey: true,
      hasUserVerification: true,
      isUserVerified: true,
      automaticPresenceSimulation: true,
    },
  })
  return {
    count: async () => (await cdp.send('WebAuthn.getCredentials', { authenticatorId })).credentials.length,
    knows: (isUserVerified: boolean) =>
      cdp.send('WebAuthn.setUserVerified', { authenticatorId, isUserVerified }),
  }
}
const inside = (page: Page) => expect(page.getByRole('navigation', { name: 'Main' })).toBeVisible()
async function withPassword(page: Page) {
  await page.getByLabel('E-mail').fill(EMAIL)
  await page.getByLabel('Password').fill(PASSWORD)
  await page.getByRole('button', { name: 'Sign in', exact: true }).click()
}

test('a passkey is added, signs in alone and beside the password, and is removed', async ({ browser }) => {
  test.setTimeout(120_000)
  const context = await browser.newContext({
    serviceWorkers: 'block',
    viewport: { width: 390, height: 844 },
  })
  const page = await context.newPage()
  const device = await authenticator(page)
  await page.goto(`${HOME}/account`)
  await withPassword(page)
  await expect(page.getByRole('heading', { name: 'Passkeys' })).toBeVisible()
  await page.getByRole('button', { name: 'Add a passkey' }).click()
  const dialog = page.getByRole('dialog')
  await dialog.getByLabel('Name, so that you know it again').fill('Duty phone')
  await dialog.getByLabel('Your present password').fill('not-the-password')
  await dialog.getByRole('button', { name: 'Add it' }).click()
  await expect(dialog.getByText(/not your present password/)).toBeVisible()
  expect(await device.count()).toBe(0)
  await dialog.getByLabel('Your present password').fill(PASSWORD)
  await readable(page, 'add a passkey', false)
  await dialog.getByRole('button', { name: 'Add it' }).click()
  await expect(dialog.getByText('The passkey is added.')).toBeVisible()
  await readable(page, 'recovery codes of a passkey', false)
  const codes = await dialog.getByText(/^([A-Z0-9]{4}-){5}[A-Z0-9]{4}/).innerText()
  const recovery = codes.trim().slice(0, 29)
  await dialog.getByLabel('I have written them down').check()
  await dialog.getByRole('button', { name: 'Go on' }).click()
  await expect(dialog).toBeHidden()
  await expect(page.getByText('never used yet')).toBeVisible()
  expect(await device.count()).toBe(1)
  await expect(page.getByText('Your passkeys are your second factor.')).toBeVisible()
  await readable(page, 'passkeys', true)
  expect(await tooSmall(page)).toEqual([])

  // Alone: nothing is typed.
  await context.clearCookies()
  await page.goto(HOME)
  await page.getByRole('button', { name: 'Use a passkey' }).click()
  await inside(page)

  // Beside the password, which alone opens nothing now.
  await context.clearCookies()
  await page.goto(HOME)
  await withPassword(page)
  await expect(page.getByText('Now your passkey.')).toBeVisible()
  await readable(page, 'passkey after the password', false)
  await page.getByRole('button', { name: 'Use a passkey' }).click()
  await inside(page)

  // Without the device, by a recovery code.
  await context.clearCookies()
  await page.goto(HOME)
  await withPassword(page)
  await page.getByLabel(/A recovery code/).fill(recovery)
  await page.getByRole('button', { name: 'Sign in', exact: true }).click()
  await inside(page)

  // Whoever the device does not know is not let in, and told what to do.
  await context.clearCookies()
  await page.goto(HOME)
  await device.knows(false)
  await page.getByRole('button', { name: 'Use a passkey' }).click()
  await expect(page.getByRole('alert')).toContainText('No passkey was given')
  await device.knows(true)
  await page.getByRole('button', { name: 'Use a passkey' }).click()
  await inside(page)

  await page.goto(`${HOME}/account`)
  await page.getByRole('button', { name: /^Rename ?: Duty phone/ }).click()
  await dialog.getByLabel('Name, so that you know it again').fill('Old phone')
  await dialog.getByRole('button', { name: 'Rename it' }).click()
  await expect(page.getByText('Old phone', { exact: true })).toBeVisible()
  await page.getByRole('button', { name: /^Remove ?: Old phone/ }).click()
  await dialog.getByLabel('Your present password').fill(PASSWORD)
  await dialog.getByRole('button', { name: 'Remove it' }).click()
  await expect(page.getByText('None yet.')).toBeVisible()
  await context.clearCookies()
  await page.goto(HOME)
  await withPassword(page)
  await inside(page)
  await context.close()
})

test('under another name none are offered, and the account says where', async ({ browser }) => {
  const context = await browser.newContext({ serviceWorkers: 'block' })
  const page = await context.newPage()
  await page.goto(`${process.env['BASE_URL']}/account`)
  await withPassword(page)
  await expect(page.getByText(`They work at ${HOME}`)).toBeVisible()
  await expect(page.getByRole('button', { name: 'Add a passkey' })).toHaveCount(0)
  await context.close()
})
