import { feed, records, signIn, visit } from './helpers'
import { looks, readable } from './readable'
import { expect, test } from './test'
import type { Piece, RigStanding, Ticket } from '../src/api/types'

for (const { size, scheme } of looks('desk')) {
  test(`every screen is readable, on a ${size.name}, ${scheme}`, async ({ page }) => {
    test.setTimeout(300_000)
    await page.setViewportSize(size)
    await page.emulateMedia({ colorScheme: scheme, reducedMotion: 'reduce' })
    await page.goto('/')
    await expect(page.getByLabel('E-mail')).toBeVisible()
    await readable(page, 'sign-in', size.name === 'phone')
    await signIn(page)
    const changes = await feed(page)
    const limited = records<RigStanding>(changes, 'rig_standing').find((one) => one.gaps.length)
    const piece = records<Piece>(changes, 'piece').find((p) => p.state === 'out_of_service')
    const ticket = records<Ticket>(changes, 'ticket').find((t) => t.state !== 'closed')
    const paths = [
      '/',
      '/swaps',
      '/bench',
      '/register',
      '/register/import',
      '/find',
      '/nowhere',
      '/programme',
      '/programme/grades',
      '/programme/policy',
      '/programme/checks',
      '/programme/checks/starters',
      '/programme/checks/new',
      '/programme/limits',
      '/programme/people',
      '/programme/rigs',
      '/programme/places',
    ]
    if (limited) paths.push(`/rigs/${limited.id}`, `/rigs/${limited.id}/swap`)
    if (piece) paths.push(`/pieces/${piece.id}`, `/pieces/${piece.id}/report`, `/pieces/${piece.id}/ticket`)
    if (ticket) paths.push(`/bench/${ticket.id}`)
    for (const path of paths) {
      await visit(page, path)
      await readable(page, path, size.name === 'phone')
    }
  })
}

test('the skip link and the headings carry the keyboard', async ({ page }) => {
  await signIn(page)
  await expect(page.getByRole('heading', { level: 1 })).toBeVisible()
  await page.keyboard.press('Tab')
  await expect(page.getByText('Skip to the content')).toBeFocused()
  await page.keyboard.press('Enter')
  await expect(page.locator('#main')).toBeFocused()
  await page.getByRole('navigation', { name: 'Main' }).getByRole('link', { name: 'Bench' }).click()
  await expect(page.getByRole('heading', { level: 1 })).toBeFocused()
})
