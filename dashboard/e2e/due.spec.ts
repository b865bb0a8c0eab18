// What is due: its numbers against the feed, its way into the walk, one sentence at the piece, nothing due, and on paper.
import type { CheckPlan, Piece, PieceStanding, Rig } from '../src/api/types'
import { feed, records, signedIn, tabTo } from './helpers'
import { looks, readable } from './readable'
import { expect, test } from './test'

const WEEK = 7 * 86_400_000

test('counts what the feed says, and leads into the walk of a rig', async ({ page }) => {
  await signedIn(page)
  const changes = await feed(page)
  const careful = new Set(
    records<Piece>(changes, 'piece')
      .filter((p) => p.state === 'in_service' || p.state === 'out_of_service')
      .filter((p) => p.place.at === 'rig' || p.place.at === 'shelf')
      .map((p) => p.id),
  )
  const now = Date.now()
  const times = records<PieceStanding>(changes, 'piece_standing')
    .filter((one) => careful.has(one.id))
    .flatMap((one) => one.due ?? [])
    .flatMap(({ due }) => (due.state === 'at' ? [Date.parse(due.at) - now] : []))
  const late = times.filter((ms) => ms <= 0).length
  const ahead = times.filter((ms) => ms > 0 && ms <= WEEK).length
  expect(late + ahead).toBeGreaterThan(0)

  await page.goto('/due?of=all')
  const heading = page.getByRole('heading', { level: 1 })
  if (late) await expect(heading).toContainText(`${late} ${late === 1 ? 'check' : 'checks'} overdue`)
  if (ahead) await expect(heading).toContainText(`${ahead} `)
  // A district's part, chosen by the keyboard, stays in the address.
  await tabTo(page, /^Where/)
  await page.keyboard.press('ArrowDown')
  await expect(page).toHaveURL(/of=d%2F|of=d\//)
  await page.goto('/due?of=all')
  const first = page
    .getByRole('article')
    .filter({ has: page.getByRole('link', { name: /^Start the check/ }) })
  const name = (await first.first().getByRole('heading').textContent())?.trim() ?? ''
  await tabTo(page, /^Start the check/)
  await page.keyboard.press('Enter')
  await expect(page.getByRole('heading', { level: 1, name: `Check ${name}` })).toBeVisible()
})

test('a piece says when each check is due, and begins that one alone', async ({ page }) => {
  await signedIn(page)
  const changes = await feed(page)
  const plans = new Map(records<CheckPlan>(changes, 'check_plan').map((one) => [one.id, one]))
  const aboard = new Set(
    records<Piece>(changes, 'piece')
      .filter((p) => p.place.at === 'rig' && p.state === 'in_service')
      .map((p) => p.id),
  )
  const found = records<PieceStanding>(changes, 'piece_standing')
    .filter((one) => aboard.has(one.id))
    .flatMap((one) => (one.due ?? []).map((due) => ({ piece: one.id, ...due })))
    .find(({ due, plan }) => due.state === 'at' && plans.get(plan)?.plan.signer === 'member')
  expect(found, 'a check that any member signs').toBeDefined()
  await page.goto(`/pieces/${found?.piece}`)
  const row = page
    .getByRole('region', { name: 'Its checks' })
    .getByRole('listitem')
    .filter({ hasText: found?.name ?? '' })
  await expect(row).toContainText(/due (today at|\w{3} \d+ \w{3,4}) [\d:]+/)
  await row.getByRole('link', { name: /^Start the check/ }).click()
  await expect(page.getByRole('heading', { level: 1, name: /^Check / })).toBeVisible()
  await expect(page.getByRole('checkbox', { checked: true })).toHaveCount(1)
  await expect(page.getByRole('button', { name: /^Begin: \d+ steps? on 1 piece$/ })).toBeVisible()
})

test('of a rig that carries nothing it says so, and on paper everything stands open', async ({ page }) => {
  await signedIn(page)
  const changes = await feed(page)
  const laden = new Set(
    records<Piece>(changes, 'piece').flatMap((p) => (p.place.at === 'rig' ? [p.place.rig] : [])),
  )
  const bare = records<Rig>(changes, 'rig').find((rig) => !laden.has(rig.id))
  expect(bare, 'a rig without a piece').toBeDefined()
  await page.goto(`/due?of=r/${bare?.id}`)
  await expect(page.getByRole('heading', { level: 1, name: 'Nothing is due' })).toBeVisible()
  await expect(page.getByText('Nothing is overdue, or due in the next 7 days.')).toBeVisible()
  await page.getByRole('link', { name: 'Look at the whole agency' }).click()
  await expect(page.getByRole('article').first()).toBeVisible()
  const shut = page.locator('article details:not([open])')
  await page.evaluate(() => dispatchEvent(new Event('beforeprint')))
  await expect(shut).toHaveCount(0)
  await page.evaluate(() => dispatchEvent(new Event('afterprint')))
  await expect(page.locator('article details[open]')).toHaveCount(0)
})

for (const { size, scheme } of looks('phone')) {
  test(`what is due is readable, on a ${size.name}, ${scheme}`, async ({ page }) => {
    const phone = size.name === 'phone'
    await page.setViewportSize(size)
    await page.emulateMedia({ colorScheme: scheme, reducedMotion: 'reduce' })
    await signedIn(page)
    await page.goto('/due?of=all')
    await expect(page.getByRole('article').first()).toBeVisible()
    await readable(page, 'due', phone)
    if (!phone) return
    await page.addStyleTag({ content: 'html { font-size: 200% }' })
    // The page itself; the bars round it are another test's.
    const wide = await page.evaluate(() =>
      [...document.querySelectorAll<HTMLElement>('main *')]
        .filter(
          (e) => e.checkVisibility() && !e.closest('.hidden') && e.getBoundingClientRect().right > innerWidth,
        )
        .map((e) => `${e.tagName} ${e.innerText.slice(0, 30)}`),
    )
    expect(wide, 'at twice the size of type').toEqual([])
  })
}
