// What has to be replaced in ten years: the service's sums as they are shown, a price entered, the file, the district.
import { readFileSync } from 'node:fs'
import type { Model, Replacements } from '../src/api/types'
import { answer, command, feed, records, signIn } from './helpers'
import { looks, readable } from './readable'
import { expect, test } from './test'

test('a price that is entered is in the sums at once, and what has none is said', async ({ page }) => {
  await signIn(page)
  const model = records<Model>(await feed(page), 'model').find((one) => one.name === 'Marrable twin line 32')
  if (!model) throw new Error('no such hose')
  const before = await answer<Replacements>(page, '/v1/replacements')
  const pieces = before.lines
    .filter((line) => line.model === model.id && line.part === 'whole')
    .reduce((sum, line) => sum + line.pieces, 0)
  expect(pieces).toBeGreaterThan(0)
  try {
    await page.goto('/replacements')
    await expect(page.getByRole('heading', { level: 1 })).toContainText('at least')
    const prices = page.getByRole('region', { name: 'Prices' })
    await prices.getByRole('button', { name: `Enter the price of ${model.name}` }).click()
    const dialog = page.getByRole('dialog')
    await dialog.getByLabel(/^Price of one piece/).fill('410.25')
    await dialog.getByLabel('Day of the price').fill(before.today)
    await dialog.getByLabel(/^Whose price/).fill('offer of today')
    await dialog.getByRole('button', { name: 'Save' }).click()
    await expect(dialog).toBeHidden()
    await expect(prices.getByText('410.25')).toBeVisible()
    const after = await answer<Replacements>(page, '/v1/replacements')
    const total = (found: Replacements) => Math.round((found.years.at(-1)?.so_far ?? 0) * 100)
    expect(total(after) - total(before)).toBe(pieces * 41025)
    const shown = new Intl.NumberFormat('en', { maximumFractionDigits: 2 }).format(total(after) / 100)
    await expect(page.getByRole('heading', { level: 1 })).toContainText(shown)
    const [file] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('button', { name: 'Download as a spreadsheet' }).click(),
    ])
    const lines = readFileSync(await file.path(), 'utf8')
      .trim()
      .split('\r\n')
    expect(lines).toHaveLength(after.lines.length + after.no_life.length + 1)
    const district = records<{ id: string; name: string }>(await feed(page), 'district')[0]
    await page.getByRole('combobox', { name: 'District' }).selectOption(district?.id ?? '')
    await expect(page).toHaveURL(/district=/)
    await expect(page.getByText(`${district?.name}, as of`)).toBeVisible()
  } finally {
    const { rev } = await answer<Model>(page, `/v1/models/${model.id}`)
    await command(page, 'model.price', { id: model.id, price: null }, rev)
  }
})

for (const { size, scheme } of looks('desk')) {
  test(`what has to be replaced is readable, on a ${size.name}, ${scheme}`, async ({ page }) => {
    await page.setViewportSize(size)
    await page.emulateMedia({ colorScheme: scheme, reducedMotion: 'reduce' })
    await signIn(page)
    await page.goto('/replacements')
    await expect(page.getByRole('table').first()).toBeVisible()
    await readable(page, 'replacements', size.name === 'phone')
  })
}
