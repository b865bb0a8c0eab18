// How screens spell and write a date: an admin chooses it for the whole agency, screens that are open follow, and it is put back.
import type { Page } from '@playwright/test'
import type { Agency } from '../src/api/types'
import { answer, command, signIn } from './helpers'
import { open } from './keys'
import { looks, readable } from './readable'
import { expect, test } from './test'

const choose = async (page: Page, words: string) => {
  await open(page, 'agency', 'Agency')
  await page.getByRole('combobox', { name: 'Spelling and dates' }).selectOption({ label: words })
  const save = page.getByRole('button', { name: 'Save', exact: true })
  await save.focus()
  await page.keyboard.press('Enter')
  await expect(page.getByText('The agency is changed.')).toBeVisible()
  await expect(save).toBeDisabled()
}

/** What the menu, two headings and two dates say. */
async function reads(page: Page, word: string, date: string, old: RegExp) {
  const menu = page.locator('details.who')
  await menu.locator('summary').click()
  await expect(menu.getByRole('link', { name: word, exact: true })).toBeVisible()
  await menu.getByRole('link', { name: word, exact: true }).click()
  await expect(page.getByRole('heading', { level: 1, name: word, exact: true })).toBeVisible()
  await page.getByRole('main').getByRole('link', { name: 'People' }).click()
  await expect(page.getByRole('heading', { level: 1, name: 'People' })).toBeVisible()
  await expect(page.getByRole('link', { name: word, exact: true }).first()).toBeVisible()
  await expect(page.getByRole('main')).toContainText(old)
  await page.goto('/past?at=2001-01-01T08:00')
  await expect(page.getByText(`No rig was on record at ${date} 08:00`)).toBeVisible()
}
const DAY_FIRST = /\b\d{1,2} [A-Z][a-z]{2,3} 20\d\d\b/
const MONTH_FIRST = /\b[A-Z][a-z]{2} \d{1,2}, 20\d\d\b/

test('the agency’s locale turns words and dates on its screens, and back', async ({ page, browser }) => {
  await signIn(page)
  const before = await answer<Agency>(page, '/v1/agency')
  try {
    await reads(page, 'Programme', 'Mon 1 Jan 2001', DAY_FIRST)
    // A screen that is open elsewhere turns without anybody loading it again.
    const other = await browser.newPage()
    await other.context().addCookies(await page.context().cookies())
    await other.goto('/programme')
    await expect(other.getByRole('heading', { level: 1, name: 'Programme', exact: true })).toBeVisible()
    await choose(page, 'United States (program; Nov 30, 2026)')
    await expect(other.getByRole('heading', { level: 1, name: 'Program', exact: true })).toBeVisible()
    await reads(page, 'Program', 'Mon Jan 1, 2001', MONTH_FIRST)
    await page.goto('/programme/people')
    await expect(page.getByRole('heading', { level: 1, name: 'People' })).toBeVisible()
    await expect(page.getByRole('main')).not.toContainText(DAY_FIRST)
    const after = await answer<Agency>(page, '/v1/agency')
    expect(after).toMatchObject({
      locale: 'en-US',
      name: before.name,
      units: before.units,
      policy: before.policy,
    })
    await choose(page, 'United Kingdom (programme; 30 Nov 2026)')
    await expect(other.getByRole('heading', { level: 1, name: 'Programme', exact: true })).toBeVisible()
    await other.close()
    await reads(page, 'Programme', 'Mon 1 Jan 2001', DAY_FIRST)
  } finally {
    const { rev, locale } = await answer<Agency>(page, '/v1/agency')
    const was = before.locale ?? 'en-GB'
    if (locale !== was) await command(page, 'agency.edit', { locale: was }, rev)
  }
})

test('units are another choice: the board is looked at before, and the name must not be empty', async ({
  page,
}) => {
  await signIn(page)
  await open(page, 'agency', 'Agency')
  const save = page.getByRole('button', { name: 'Save', exact: true })
  await expect(save).toBeDisabled()
  await page.getByLabel('Name', { exact: true }).fill('')
  await expect(save).toBeDisabled()
  const { name } = await answer<Agency>(page, '/v1/agency')
  await page.getByLabel('Name', { exact: true }).fill(name)
  await expect(save).toBeDisabled()
  await page.getByRole('combobox', { name: 'Units on screens and papers' }).selectOption('si')
  await expect(save).toBeEnabled()
  await expect(page.locator('main [aria-busy=true]')).toHaveCount(0)
  await expect(page.getByRole('main')).toContainText(/rig/i)
})

for (const { size, scheme } of looks('phone', 'desk')) {
  test(`the agency's page is readable, on a ${size.name}, ${scheme}`, async ({ page }) => {
    await page.setViewportSize(size)
    await page.emulateMedia({ colorScheme: scheme, reducedMotion: 'reduce' })
    await signIn(page)
    await open(page, 'agency', 'Agency')
    await readable(page, '/programme/agency', size.name === 'phone')
    if (process.env['E2E_SHOTS'])
      await page.screenshot({
        path: `${process.env['E2E_SHOTS']}/agency-${size.name}-${scheme}.png`,
        fullPage: true,
      })
  })
}
