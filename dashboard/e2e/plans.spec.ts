// Check plans: two starters taken over by the keyboard alone, one of them loosened with a reason, both withdrawn.
import type { Page } from '@playwright/test'
import type { CheckPlan } from '../src/api/types'
import { command, feed, records, signedIn, tabTo, visit } from './helpers'
import { looks, readable } from './readable'
import { expect, test } from './test'

const WEEKLY = 'Weekly check: charger'
const AFTER = 'After use: charger'

const plans = async (page: Page) => records<CheckPlan>(await feed(page), 'check_plan')
const named = async (page: Page, name: string) =>
  (await plans(page)).find((one) => one.plan.name === name && one.state === 'in_force')

/** What an earlier run left in force is withdrawn. */
async function clear(page: Page) {
  for (const one of await plans(page))
    if (one.state === 'in_force' && [WEEKLY, AFTER].includes(one.plan.name))
      await command(page, 'check_plan.withdraw', { id: one.id, reason: 'End of test' }, one.rev)
}

test('two starters are taken over by the keyboard, one is loosened with a reason, both are withdrawn', async ({
  page,
}) => {
  test.setTimeout(120_000)
  await signedIn(page)
  await clear(page)
  await page.goto('/programme/checks/starters?kind=charger')
  await expect(page.getByRole('heading', { level: 1, name: 'Starter plans' })).toBeVisible()
  await expect(page.getByText(WEEKLY).first()).toBeVisible()

  await tabTo(page, /^After use: charger/)
  await page.keyboard.press('Space')
  await tabTo(page, /^Read its .* After use: charger/)
  await page.keyboard.press('Enter')
  await expect(page.getByText(/^Source: |Common practice, no source/).first()).toBeVisible()
  await tabTo(page, /^Weekly check: charger/)
  await page.keyboard.press('Space')
  await tabTo(page, /^Go on with 2 plans/)
  await page.keyboard.press('Enter')
  await expect(page.getByRole('heading', { level: 1, name: /^Change them/ })).toBeFocused()

  // The week begins on another day here: a Wednesday at half past six.
  await tabTo(page, /^All weekly ones on/)
  await page.keyboard.type('Wed')
  await page.keyboard.press('Tab')
  await expect(page.getByText(/Each Wednesday at/).first()).toBeVisible()
  // Step by step: one is left out before anything counts.
  await tabTo(page, /^Change it: ?Weekly check: charger/)
  await page.keyboard.press('Enter')
  const steps = page.getByRole('button', { name: /^Leave out/ })
  await expect(steps).toHaveCount(3)
  await tabTo(page, /^Leave out: /, 200)
  await page.keyboard.press('Enter')
  await expect(steps).toHaveCount(2)
  await expect(page.getByText('What it would do')).toBeVisible()
  await tabTo(page, /^Put 2 plans in force/, 200)
  await page.keyboard.press('Enter')
  await expect(page.getByText('2 of 2 answered')).toBeVisible({ timeout: 30_000 })
  await tabTo(page, /^See the plans in force/)
  await page.keyboard.press('Enter')

  const section = page.getByRole('region', { name: 'Charger' })
  await expect(section.getByRole('link', { name: WEEKLY })).toBeVisible()
  await expect(section.getByRole('link', { name: AFTER })).toBeVisible()
  await expect(section).toContainText('Each Wednesday at 08:00')
  const weekly = await named(page, WEEKLY)
  expect(weekly?.plan.rhythm).toMatchObject({ every: 'calendar', rule: 'FREQ=WEEKLY;BYDAY=WE' })
  expect(weekly?.plan.steps).toHaveLength(2)
  expect(await named(page, AFTER)).toBeDefined()

  // It asks less from now on: the server wants to know why, and the screen shows its words.
  await tabTo(page, /^Weekly check: charger/)
  await page.keyboard.press('Enter')
  await expect(page.getByRole('heading', { level: 1, name: WEEKLY })).toBeFocused()
  await tabTo(page, /^Change it$/)
  await page.keyboard.press('Enter')
  await expect(page.getByLabel('Name', { exact: true })).toBeFocused()
  await tabTo(page, /^Days of grace/)
  await page.keyboard.press('Control+a')
  await page.keyboard.type('9')
  await expect(page.getByText(/2 days of grace become 9/).first()).toBeVisible()
  await tabTo(page, /^Why, as the record keeps it/, 200)
  await page.keyboard.type('Two houses share one charger')
  await tabTo(page, /^Save the plan/)
  await page.keyboard.press('Enter')
  await expect(page.getByRole('region', { name: 'What it says' })).toContainText('9 days of grace')
  await expect(page.getByRole('region', { name: 'How it came to be so' })).toContainText(
    'version 2, 2 steps, because “Two houses share one charger”',
  )
  expect((await named(page, WEEKLY))?.plan).toMatchObject({ version: 2, grace_days: 9 })

  for (const name of [WEEKLY, AFTER]) {
    const plan = await named(page, name)
    await page.goto(`/programme/checks/${plan?.id}`)
    await expect(page.getByRole('heading', { level: 1, name })).toBeVisible()
    await tabTo(page, /^Withdraw it$/)
    await page.keyboard.press('Enter')
    const dialog = page.getByRole('dialog')
    await tabTo(page, /^Why, as the record keeps it/)
    await page.keyboard.type('End of test')
    await tabTo(page, /^Withdraw it$/)
    await page.keyboard.press('Enter')
    await expect(dialog).toBeHidden()
    await expect(page.getByRole('note')).toContainText('“End of test”')
    expect(await named(page, name)).toBeUndefined()
  }
})

test('what the server finds wrong stands at its field', async ({ page }) => {
  await signedIn(page)
  await page.goto('/programme/checks/new')
  await page.getByLabel('Name', { exact: true }).fill('A plan that is none')
  await page.getByRole('checkbox', { name: 'Charger', exact: true }).check()
  await page.getByRole('button', { name: 'Add a step' }).click()
  await page.getByLabel('What to look at').fill('Voltage')
  await page.getByLabel('What is answered').selectOption('number')
  await page.getByLabel(/^What is measured/).selectOption({ index: 1 })
  await page.getByRole('button', { name: 'Add a limit' }).click()
  await page.getByLabel(/^At least/).fill('')
  await page.getByLabel(/^At least/).blur()
  await page.getByRole('button', { name: 'Put it in force' }).click()
  const limit = page.getByRole('group', { name: 'Limit 1' })
  await expect(limit).toContainText('Give a least or a most')
  await expect(limit.getByLabel('It must keep to')).toBeFocused()
})

test('members are signed off together, and nobody is offered to sign himself off', async ({ page }) => {
  await signedIn(page)
  await page.goto('/programme/people')
  const members = page.getByRole('region', { name: 'Members' })
  const own = members.getByRole('listitem').filter({ hasText: '(you)' })
  await page.getByLabel('Name or e-mail').fill('crew2')
  await expect(members.getByRole('checkbox').first()).toBeVisible()
  const names = await members
    .getByRole('checkbox')
    .evaluateAll((all) =>
      all.slice(0, 2).map((one) => (one as HTMLInputElement).labels?.[0]?.innerText ?? ''),
    )
  for (const name of names) await members.getByRole('checkbox', { name }).check()
  await page.getByRole('button', { name: 'Sign off 2 members' }).click()
  const dialog = page.getByRole('dialog')
  await dialog.getByRole('checkbox', { name: 'Charger' }).check()
  const soon = new Date(Date.now() + 20 * 86_400_000).toISOString().slice(0, 10)
  await dialog.getByLabel('The last day on which it counts').fill(soon)
  await dialog.getByRole('button', { name: 'Sign off', exact: true }).click()
  await expect(dialog).toBeHidden({ timeout: 15_000 })
  const runs = page.getByRole('region', { name: /^Ran out, or runs out/ })
  for (const name of names) await expect(runs).toContainText(name)
  await page.getByLabel('Name or e-mail').fill(process.env['E2E_EMAIL'] ?? 'admin@')
  await expect(own).toHaveCount(1)
  await expect(own.getByRole('checkbox')).toHaveCount(0)
  await expect(own.getByRole('button', { name: /certificate/i })).toHaveCount(0)
})

for (const { size, scheme } of looks('phone')) {
  test(`the forms of the programme are readable, on a ${size.name}, ${scheme}`, async ({ page }) => {
    test.setTimeout(120_000)
    const phone = size.name === 'phone'
    await page.setViewportSize(size)
    await page.emulateMedia({ colorScheme: scheme, reducedMotion: 'reduce' })
    await signedIn(page)
    for (const path of ['checks', 'limits', 'people', 'rigs', 'places', 'policy']) {
      await visit(page, `/programme/${path}`)
      await readable(page, path, phone)
    }
    await visit(page, '/programme/checks/starters?rhythm=Weekly')
    await page
      .getByText(/^Read its/)
      .first()
      .click()
    await readable(page, 'starters', phone)
    await page.getByRole('button', { name: 'Choose all that are shown' }).click()
    await page.getByRole('button', { name: /^Go on with/ }).click()
    await page.getByText('Change it', { exact: false }).first().click()
    await page.locator('li summary strong').first().click()
    await expect(page.getByLabel('What to look at')).toBeVisible()
    await page.evaluate(() => scrollTo(0, 0))
    await readable(page, 'take over', phone)
    for (const [path, open] of [
      ['rigs', 'Add a rig'],
      ['places', 'Add a station'],
      ['people', 'Add a member'],
    ] as const) {
      await visit(page, `/programme/${path}`)
      await page.getByRole('button', { name: open, exact: true }).click()
      await expect(page.getByRole('dialog')).toBeVisible()
      await readable(page, open, phone)
    }
    await visit(page, '/programme/rigs')
    await page
      .getByRole('button', { name: /^Change/ })
      .first()
      .click()
    await page.getByRole('dialog').locator('summary').first().click()
    await readable(page, 'a rig class', phone)
  })
}
