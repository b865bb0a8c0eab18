// What a person does by the keyboard alone: nothing is clicked.
import { expect, type Locator, type Page } from '@playwright/test'
import { tabTo } from './helpers'

export async function press(page: Page, name: RegExp) {
  await tabTo(page, name, 400)
  await page.keyboard.press('Enter')
}
/** The same for what stands far down a list that is no question of the test. */
export async function enter(button: Locator) {
  await button.focus()
  await button.press('Enter')
}
/** Writes over what stands in a field. */
export async function write(page: Page, name: RegExp, words: string) {
  await tabTo(page, name)
  await page.keyboard.press('Control+a')
  if (words) await page.keyboard.type(words)
  else await page.keyboard.press('Delete')
}
/** A choice is made by the beginning of its words. */
export async function choose(page: Page, name: RegExp, words: string) {
  await tabTo(page, name)
  await page.keyboard.type(words)
}
/** A date as the field takes it: month, day, year. */
export async function writeDate(page: Page, name: RegExp, iso: string) {
  const [year = '', month = '', day = ''] = iso.split('-')
  await tabTo(page, name)
  for (const key of ['ArrowLeft', 'ArrowLeft']) await page.keyboard.press(key)
  await page.keyboard.type(`${month}${day}${year}`)
}
/** Sends the form of the open dialog, with a reason where one is asked for, and sees it go. */
export async function send(page: Page, button: RegExp) {
  const dialog = page.getByRole('dialog')
  const why = dialog.getByLabel(/^Why, as the record keeps it/)
  await expect(dialog.locator('[aria-busy=true]')).toHaveCount(0)
  if (await why.isVisible()) await write(page, /^Why, as the record keeps it/, 'A form is tried')
  await press(page, button)
  await expect(dialog).toBeHidden({ timeout: 15_000 })
}
/** A part of the programme. */
export async function open(page: Page, path: string, heading: string) {
  await page.goto(`/programme/${path}`)
  await expect(page.getByRole('heading', { level: 1, name: heading, exact: true })).toBeVisible()
}
