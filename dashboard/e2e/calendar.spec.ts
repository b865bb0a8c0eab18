import type { Page } from '@playwright/test'
import { command, feed, records, signIn } from './helpers'
import { looks, readable } from './readable'
import { expect, test } from './test'
import type { ServicePlanRecord } from '../src/api/types'

const WORK = '**/v1/service-plans/work'
/** No plan holds and none is a draft: the agency as the tests want it. */
async function noPlans(page: Page) {
  for (const plan of records<ServicePlanRecord>(await feed(page), 'service_plan'))
    if (plan.state !== 'withdrawn') await command(page, 'service_plan.withdraw', { id: plan.id }, plan.rev)
}
/** What stands where some sets, or all, cannot be planned. */
const stuck = (page: Page) => page.getByRole('heading', { name: /There is no plan|cannot be planned/ })
/** Works a plan out; where not every set gets a week at first, all that would make it possible is put in. */
async function workOut(page: Page) {
  await page.getByRole('button', { name: 'Work out the plan' }).click()
  const planned = page.getByRole('heading', { name: /\d+ sets planned/ })
  await expect(planned.or(stuck(page)).first()).toBeVisible({ timeout: 20_000 })
  if (await stuck(page).isVisible()) {
    await page.getByRole('button', { name: /^Put .*plan again/ }).click()
    await expect(stuck(page)).toBeHidden({ timeout: 30_000 })
    await expect(planned).toBeVisible({ timeout: 20_000 })
  }
}
const visits = (page: Page) => page.locator('[data-set]')

test.beforeEach(async ({ page }) => {
  await signIn(page, '/calendar')
  await noPlans(page)
})
test.afterEach(async ({ page }) => {
  await page.unroute(WORK)
  await noPlans(page)
})

test('from what is due to a published plan and its calendar file', async ({ page }) => {
  await expect(page.getByText('No service plan is published.')).toBeVisible()
  const due = page.getByRole('heading', { name: /^Due without a plan: \d+ sets/ })
  await expect(due).toBeVisible()
  const sets = Number(/\d+/.exec((await due.textContent()) ?? '')?.[0])
  await page.getByRole('main').getByRole('link', { name: 'Make a plan' }).first().click()
  await workOut(page)
  await expect(page.getByText(/No plan is better|Not proved the best/)).toBeVisible()
  await expect(visits(page)).toHaveCount(sets)

  await page.getByRole('button', { name: 'Save as a draft' }).click()
  await page.getByRole('dialog').getByLabel('Name').fill('Plan of the test')
  await page.getByRole('dialog').getByRole('button', { name: 'Save as a draft' }).click()
  await expect(page).toHaveURL(/\/calendar\/plan\?id=/)
  await page.reload()
  await expect(page.getByRole('heading', { level: 1 })).toHaveText('Draft: Plan of the test')
  await expect(visits(page)).toHaveCount(sets)
  await expect(page.getByRole('button', { name: 'Saved' })).toBeDisabled()
  await visits(page).last().click()
  await page.getByRole('button', { name: 'Pin it where it is' }).click()
  await page.getByRole('button', { name: 'Save the draft' }).click()
  await page.getByRole('dialog').getByRole('button', { name: 'Save as a draft' }).click()
  await expect(page.getByRole('button', { name: 'Saved' })).toBeDisabled()
  await visits(page).last().press('Enter')
  await expect(page.getByRole('button', { name: 'Save the draft' })).toBeEnabled()
  await page.getByRole('button', { name: 'Publish', exact: true }).click()
  await page.getByRole('dialog').getByRole('button', { name: 'Publish the plan' }).click()

  await expect(page).toHaveURL(/\/calendar$/)
  await expect(page.getByRole('heading', { name: `${sets} visits from this week on` })).toBeVisible()
  await expect(page.getByText('Every set that falls due is in a plan.')).toBeVisible()
  await page.getByText('Bring it into a phone’s calendar').click()
  const file = page.getByRole('link', { name: 'Calendar file (.ics)' })
  const answer = await page.request.get((await file.getAttribute('href')) ?? '')
  expect(answer.headers()['content-type']).toContain('text/calendar')
  expect((await answer.text()).match(/BEGIN:VEVENT/g)).toHaveLength(sets)

  await page.getByRole('main').locator('a.visit').first().click()
  await expect(page).toHaveURL(/set=/)
  await expect(page.getByRole('heading', { name: '1 visit from this week on' })).toBeVisible()
  await expect(page.getByRole('heading', { name: /: \d+ pieces?$/ })).toBeVisible()
  await page.goto('/calendar')
  await page.getByRole('button', { name: 'Withdraw this plan' }).click()
  await page.getByRole('button', { name: 'Withdraw it' }).click()
  await expect(page.getByText('No service plan is published.')).toBeVisible()
  await expect(page.getByRole('link', { name: 'Plan of the test' }).first()).toBeVisible()
})

test('arrow keys walk, Enter pins, Alt moves; the next plan is made around what is pinned', async ({
  page,
}) => {
  await page.goto('/calendar/plan')
  await workOut(page)
  await visits(page).first().focus()
  const first = await page.locator('[data-set]:focus').getAttribute('data-set')
  await page.keyboard.press('ArrowRight')
  const second = await page.locator('[data-set]:focus').getAttribute('data-set')
  expect(second).not.toBe(first)
  await page.keyboard.press('Enter')
  const pinned = page.locator(`[data-set="${second}"]`)
  await expect(pinned).toHaveAccessibleName(/, pinned$/)
  await expect(page.getByRole('dialog')).toBeHidden()
  await page.keyboard.press('Alt+ArrowDown')
  await expect(pinned).toBeFocused()
  const row = page.locator('tr', { has: pinned })
  const week = await row.locator('th').textContent()
  await page.keyboard.press('Space')
  await expect(page.getByRole('dialog')).toBeVisible()
  await page.keyboard.press('Escape')
  await expect(pinned).toBeFocused()
  await expect(page.getByText('Changed by hand since it was worked out')).toBeVisible()
  await page.getByRole('button', { name: 'Plan again around the pinned (1)' }).click()
  await expect(page.getByText(/No plan is better|Not proved the best/)).toBeVisible()
  await expect(pinned).toHaveAccessibleName(/, pinned$/)
  expect(await row.locator('th').textContent()).toBe(week)
})

test('the search goes on elsewhere, and says what came of it; what is not saved is still there', async ({
  page,
}) => {
  await page.goto('/calendar/plan')
  await workOut(page)
  const count = await visits(page).count()
  await page.route(WORK, async (route) => {
    await new Promise((passed) => setTimeout(passed, 1_500))
    await route.continue()
  })
  await page.getByRole('button', { name: 'Plan again' }).click()
  await expect(page.getByRole('progressbar')).toBeVisible()
  await page.getByRole('navigation', { name: 'Main' }).getByRole('link', { name: 'Bench' }).click()
  await expect(page.getByText('The service plan is worked out.')).toBeVisible()
  await page.getByRole('button', { name: 'See it' }).click()
  await expect(page.getByText(/^While you were elsewhere the search ended/)).toBeVisible()
  await page.reload()
  await expect(visits(page)).toHaveCount(count)
})

test('a search can be cancelled, and a lost line is told and tried again', async ({ page }) => {
  await page.goto('/calendar/plan')
  await page.route(WORK, () => new Promise(() => {}))
  await page.getByRole('button', { name: 'Work out the plan' }).click()
  await page.getByRole('button', { name: 'Cancel' }).click()
  await expect(page.getByRole('button', { name: 'Work out the plan' })).toBeVisible()
  await page.unroute(WORK)
  await page.route(WORK, (route) => route.abort())
  await page.getByRole('button', { name: 'Work out the plan' }).click()
  await expect(page.getByText('The connection broke before the plan was worked out')).toBeVisible()
  await page.unroute(WORK)
  await page.getByRole('button', { name: 'Try again' }).click()
  await expect(page.getByRole('heading', { name: /sets planned|There is no plan/ })).toBeVisible()
})

for (const { size, scheme } of looks('desk')) {
  test(`the calendar and the plan are readable, on a ${size.name}, ${scheme}`, async ({ page }) => {
    test.setTimeout(120_000)
    await page.setViewportSize(size)
    await page.emulateMedia({ colorScheme: scheme, reducedMotion: 'reduce' })
    // From the top: what the bar covers half while the page is scrolled is not too small.
    const look = async (name: string) => {
      await page.evaluate(() => scrollTo(0, 0))
      await readable(page, name, size.name === 'phone')
    }
    await expect(page.getByRole('heading', { name: /^Due without a plan: / })).toBeVisible()
    await look('empty calendar')
    await page.goto('/calendar/plan')
    await expect(page.getByText(/\d+ sets to be planned/)).toBeVisible()
    await page.getByText(/\d+ sets to be planned/).click()
    await look('inputs')
    await page.getByText(/\d+ sets to be planned/).click()
    await page.getByRole('button', { name: 'Work out the plan' }).click()
    await expect(page.getByRole('heading', { name: /sets planned|There is no plan/ })).toBeVisible()
    await look('no plan')
    const put = page.getByRole('button', { name: /^Put .*plan again/ })
    if (await put.isVisible()) await put.click()
    await expect(stuck(page)).toBeHidden({ timeout: 30_000 })
    await expect(page.getByRole('heading', { name: /\d+ sets planned/ })).toBeVisible()
    await look('plan')
    await visits(page).first().click()
    await look('move')
    await page.getByRole('button', { name: 'Pin it where it is' }).click()
    await page.getByRole('button', { name: 'Publish', exact: true }).click()
    await look('publish')
    await page.getByRole('dialog').getByRole('button', { name: 'Publish the plan' }).click()
    await expect(page.getByRole('heading', { name: /visits from this week on/ })).toBeVisible()
    await page.getByText('Bring it into a phone’s calendar').click()
    await look('calendar')
    await page.getByRole('main').locator('a.visit').first().click()
    await look('set')
  })
}
