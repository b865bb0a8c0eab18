import type { Page } from '@playwright/test'
import { answer, signedIn, signIn, visit } from './helpers'
import { looks, readable } from './readable'
import { expect, test } from './test'

/** The address of a family whose numbers are known, with a price and a budget. */
async function priced(page: Page) {
  const { families } = await answer<{
    families: { id: string; fleet: number; days_away: number | null; mean_away: number | null }[]
  }>(page, '/v1/reserves')
  const list = families.toSorted((a, b) => (b.mean_away ?? 0) - (a.mean_away ?? 0))
  const { id, days_away } = list[0] ?? { id: '', days_away: null }
  expect(id).not.toBe('')
  return `/reserves?family=${id}&budget=40000&f.${id}=x1.5_d${Math.round((days_away ?? 10) * 2)}_s0_p5000`
}

for (const { size, scheme } of looks('desk')) {
  test(`reserves and reliability are readable, on a ${size.name}, ${scheme}`, async ({ page }) => {
    test.setTimeout(120_000)
    await page.setViewportSize(size)
    await page.emulateMedia({ colorScheme: scheme, reducedMotion: 'reduce' })
    await signedIn(page)
    const shared = await priced(page)
    for (const path of [
      '/reserves',
      shared,
      '/reliability',
      '/reliability?by=model&axis=log',
      '/reliability?by=part',
      '/reliability?by=age',
    ]) {
      await visit(page, path)
      await expect(page.locator('.figure-table, .empty').first()).toBeVisible()
      await expect(page.getByText('Working it out…')).toBeHidden()
      for (const summary of await page.locator('main summary').all()) await summary.click()
      // What lies half below the bar of the page would be measured as too small.
      await page.evaluate(() => scrollTo(0, 0))
      await readable(page, path, size.name === 'phone')
    }
    await visit(page, '/reliability')
    await page.locator('.figure-table tbody td[data-name="Failures"] a').first().click()
    await expect(page.locator('#stops')).toBeFocused()
    await readable(page, 'a row of reliability', size.name === 'phone')
  })
}

test('a slider moves the figures, the address and nothing else, and Reset gives the record back', async ({
  page,
}) => {
  await signedIn(page)
  const path = await priced(page)
  await page.goto(path.replace(/&.*/, ''))
  const part = page.getByRole('form', { name: /^What if/ })
  const ready = page.locator('tr.chosen td[data-name="Time with no slot waiting"]')
  await expect(ready).not.toHaveText('unknown')
  await expect(page.getByText('Working it out…')).toBeHidden()
  const before = await ready.innerText()
  const writes: string[] = []
  page.on('request', (r) => r.method() !== 'GET' && writes.push(`${r.method()} ${new URL(r.url()).pathname}`))
  await part.getByRole('textbox', { name: 'Spares' }).fill('0')
  await part.getByRole('textbox', { name: /Days away/ }).fill('200')
  await expect(page).toHaveURL(/f\.[^=]+=d200/)
  await expect(ready).not.toHaveText(before)
  await expect(page.getByText(/What if, with \d changes? to what is on record/)).toBeVisible()
  await expect(page.getByText('Working it out…')).toBeHidden()
  const changed = await ready.innerText()
  await page.reload()
  await expect(ready).toHaveText(changed)
  await part.getByRole('slider', { name: 'Failure rate, slider' }).press('ArrowRight')
  await expect(page).toHaveURL(/x1\.05/)
  await page.getByRole('link', { name: 'Reset the what-if' }).click()
  await expect(page).not.toHaveURL(/f\./)
  await expect(ready).toHaveText(before)
  expect(new Set(writes)).toEqual(new Set(['POST /v1/reserves/sizing']))
})

test('a budget takes the prices on record, names what has none, and says what to buy, step by step', async ({
  page,
}) => {
  await signedIn(page)
  const path = await priced(page)
  await page.goto(path.replace(/_p5000/, ''))
  const budget = page.getByRole('region', { name: 'What to buy for a budget' })
  await expect(budget.getByText(/^Left out for want of a price/)).toContainText('ram, ')
  await expect(budget.getByRole('textbox', { name: /^Hose, one-push coax/ })).not.toHaveValue('')
  await page.goto(path)
  await expect(budget.getByRole('img', { name: /Slots that wait/ })).toBeVisible()
  const steps = budget.locator('ol li')
  await expect(steps.first()).toContainText('One more of')
  await budget.getByText('The figures as a table').click()
  await expect(budget.locator('tbody tr')).toHaveCount(await steps.count())
})

test('every number of reliability opens its list, sorting is in the address, the table can be taken away', async ({
  page,
}) => {
  await signIn(page, '/reliability?by=model')
  const cell = page.locator('td[data-name="Failures"] a').first()
  await expect(cell).toBeVisible()
  const failures = Number(await cell.innerText())
  await cell.click()
  await expect(page.locator('#stops')).toHaveText(new RegExp(`^${failures} failures? and`))
  await page.getByRole('link', { name: 'Piece-years', exact: true }).click()
  await expect(page).toHaveURL(/sort=years/)
  await expect(page.getByRole('columnheader', { name: /Piece-years/ })).toHaveAttribute(
    'aria-sort',
    'descending',
  )
  const saving = page.waitForEvent('download')
  await page.getByRole('button', { name: 'Download as a spreadsheet' }).click()
  expect((await saving).suggestedFilename()).toMatch(/reliability.by.model-\d{4}-\d\d-\d\d\.csv$/)
  await page.getByRole('link', { name: 'By age' }).click()
  await expect(page).toHaveURL(/by=age/)
  await expect(page.getByText(/no trend/i)).toHaveCount(0)
})

test('without a signal what was shown stays, and the screen offers to try again', async ({ page }) => {
  await signIn(page, '/reserves')
  const rows = page.locator('.figure-table tbody tr')
  await expect(rows.first()).toBeVisible()
  const count = await rows.count()
  await page.route('**/v1/reserves**', (route) => route.abort())
  await page.getByLabel('Record from').fill('2026-01-01')
  await expect(page.getByText('These figures are worked out by the server', { exact: false })).toBeVisible()
  await expect(rows).toHaveCount(count)
  await page.unroute('**/v1/reserves**')
  await page.getByRole('button', { name: 'Try again' }).first().click()
  await expect(page.getByText('These figures are worked out by the server', { exact: false })).toBeHidden()
})
