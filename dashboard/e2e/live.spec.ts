import { command, feed, fillRelease, fullRig, giveBack, records, signedIn, signIn } from './helpers'
import { expect, test } from './test'
import type { Defect, Piece, Rig } from '../src/api/types'

test('a defect reported on one device shows on the board of another by itself, pointed out by a word', async ({
  page,
  browser,
}) => {
  await signIn(page)
  const { rig, piece } = await fullRig(page)
  const phone = await (await browser.newContext({ viewport: { width: 390, height: 844 } })).newPage()
  await signIn(phone, `/pieces/${piece.id}/report`)
  const row = page.locator('.district li', { has: page.getByRole('link', { name: rig.name, exact: true }) })
  await expect(row).toContainText('Full')
  await phone.getByRole('button', { name: 'Bent or deformed' }).click()
  await phone.getByRole('button', { name: 'Send: out of service' }).click()
  await expect(row.getByText(/^now (limited|none)$/)).toBeVisible()
  await expect(phone.getByRole('heading', { name: `${rig.name} now` })).toBeVisible()
  await expect(phone.getByText(/Hang the tag on/)).toBeVisible()
  await phone.getByRole('link', { name: `Back to ${piece.tag}` }).click()
  await expect(phone.getByText(/^No: out of service since/)).toBeVisible()
  await giveBack(page, piece.id)
  await expect(row.getByText('now full')).toBeVisible()
})

test('one browser holds one stream, and another tab takes it over', async ({ page, context }) => {
  const streams: string[] = []
  context.on('request', (r) => {
    if (new URL(r.url()).pathname === '/v1/changes/live') streams.push(r.url())
  })
  await signIn(page)
  const second = await context.newPage()
  await second.goto('/')
  await expect(second.getByText('Live', { exact: true })).toBeVisible()
  expect(streams).toHaveLength(1)
  await page.close()
  await expect.poll(() => streams.length).toBe(2)
  const { rig } = await fullRig(second)
  const row = second.locator('.district li', {
    has: second.getByRole('link', { name: rig.name, exact: true }),
  })
  await expect(row).toBeVisible()
  await command(second, 'rig.take_out', { id: rig.id, at: 'mechanic', reason: 'Test of the stream' })
  await expect(row).toBeHidden()
  const after = records<Rig>(await feed(second), 'rig').find((r) => r.id === rig.id)
  await command(second, 'rig.put_back', { id: rig.id }, after?.rev)
})

test('without a connection the page says so, and comes back by itself', async ({ page, context }) => {
  await signIn(page)
  await context.setOffline(true)
  await page.evaluate(() => dispatchEvent(new Event('online')))
  await page.evaluate(() => document.dispatchEvent(new Event('visibilitychange')))
  await expect(page.getByText(/Not connected, last synced \d\d:\d\d/)).toBeVisible()
  await context.setOffline(false)
  await expect(page.getByText('Live', { exact: true })).toBeVisible({ timeout: 20_000 })
})

test('a stale return is shown with both sides and can be decided again', async ({ page }) => {
  await signedIn(page)
  const { piece } = await fullRig(page)
  await command(page, 'piece.take_out', { id: piece.id, reason: 'First reason', planned: true })
  await page.goto(`/pieces/${piece.id}`)
  await page.getByRole('button', { name: 'Return to service' }).click()
  const dialog = page.getByRole('dialog')
  await fillRelease(page, piece.id, 'Looked over')
  await command(page, 'piece.take_out', { id: piece.id, reason: 'Second reason', planned: true })
  await dialog.getByRole('button', { name: 'Return to service' }).click()
  await expect(dialog.getByText('It changed after you looked')).toBeVisible()
  await expect(dialog.getByText('Reason: “Second reason”')).toBeVisible()
  await dialog.getByRole('button', { name: 'Do mine all the same' }).click()
  await expect(dialog).toBeHidden()
  await expect(page.getByText(/^(Yes|Cannot be confirmed)/)).toBeVisible()
  const now = records<Piece>(await feed(page), 'piece').find((p) => p.id === piece.id)
  expect(now?.state).toBe('in_service')
})

test('an act whose answer was lost is sent again as the same act', async ({ page }) => {
  await signedIn(page)
  const { piece } = await fullRig(page)
  await page.goto(`/pieces/${piece.id}/report`)
  await page.getByRole('button', { name: 'Something else' }).click()
  await page.getByLabel('In your own words').fill('Paint chipped')
  let drop = true
  await page.route('**/v1/commands', async (route) => {
    if (!drop) return route.continue()
    await route.fetch()
    await route.abort()
  })
  await page.getByRole('button', { name: 'Send: still usable' }).click()
  await expect(page.getByText('Not counted yet: something waits on this phone')).toBeVisible({
    timeout: 15_000,
  })
  drop = false
  await page.goto('/outbox')
  await expect(page.getByRole('heading', { level: 1 })).toHaveText('Nothing waits on this phone', {
    timeout: 15_000,
  })
  await page.unroute('**/v1/commands')
  const found = records<Defect>(await feed(page), 'defect').filter(
    (d) => d.what === 'Paint chipped' && d.state === 'open',
  )
  expect(found).toHaveLength(1)
  await giveBack(page, piece.id)
})
