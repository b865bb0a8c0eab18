import { PASSWORD, signIn } from './helpers'
import { expect, test } from './test'

test('a wrong password is told, and what to do', async ({ page }) => {
  await page.goto('/register?kind=hose')
  await page.getByLabel('E-mail').fill('nobody@nowhere.example')
  await page.getByLabel('Password').fill(`not ${PASSWORD}`)
  await page.getByRole('button', { name: 'Sign in' }).click()
  await expect(page.getByRole('alert')).toContainText('Sign-in failed')
  await expect(page.getByLabel('Password')).toBeFocused()
})

test('the address survives signing in, and signing out ends it in every tab', async ({ page, context }) => {
  await signIn(page, '/register?kind=hose', true)
  await expect(page.getByLabel('Kind')).toHaveValue('hose')
  const other = await context.newPage()
  await other.goto('/')
  await expect(other.getByRole('heading', { level: 1 })).toContainText('full extrication')
  await page.locator('summary', { hasText: /./ }).first().click()
  await page.getByRole('button', { name: 'Sign out' }).click()
  await expect(page.getByLabel('E-mail')).toBeVisible()
  await expect(other.getByLabel('E-mail')).toBeVisible()
})
