// From nothing: a service that has just been installed, and whoever reads its terminal.
import { install, type Installed } from './installed'
import { looks, readable } from './readable'
import { expect, test } from './test'

let service: Installed
test.beforeEach(async () => {
  service = await install()
})
test.afterEach(() => service.end())

test('an agency is founded from the first page, with the code of the terminal', async ({ page }) => {
  await page.goto(service.address)
  await expect(page.getByRole('heading', { name: 'Found your agency' })).toBeVisible()
  for (const { size, scheme } of looks('phone')) {
    await page.setViewportSize(size)
    await page.emulateMedia({ colorScheme: scheme })
    await readable(page, `founding ${size.name} ${scheme}`, size.name === 'phone')
  }
  await page.getByLabel('Code').fill('AAAA-AAAA')
  await page.getByLabel('Name of the agency').fill('Tallow County Fire')
  await page.getByLabel(/^Time zone/).selectOption('America/Denver')
  await page.getByRole('radio', { name: /SI/ }).check()
  await page.getByLabel('Your name').fill('Ada Admin')
  await page.getByLabel('Your e-mail').fill('ada@tallow.example')
  await page.getByLabel('A password').fill('password12')
  await page.getByRole('button', { name: 'Found the agency' }).click()
  await expect(page.getByRole('alert')).toContainText('not the code')
  await page.getByLabel('Code').fill(service.code.toLowerCase())
  await page.getByRole('button', { name: 'Found the agency' }).click()
  await expect(page.getByRole('alert')).toContainText('tried first')
  await page.getByLabel('A password').fill('three quiet words')
  await page.getByRole('button', { name: 'Found the agency' }).click()
  await expect(page).toHaveURL(`${service.address.replace(/\/$/, '')}/`)
  await expect(page.getByRole('heading', { level: 1 })).toHaveText('No rigs yet')
  // Whoever comes later signs in.
  await page.context().clearCookies()
  await page.goto(service.address)
  await expect(page.getByRole('button', { name: 'Sign in' })).toBeVisible()
})
