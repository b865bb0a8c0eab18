import type { Page } from '@playwright/test'
import { answer, command, feed, records, SHOP, PASSWORD, signedIn, signIn } from './helpers'
import { expect, test } from './test'
import type { Notice, NoticeProgress, Piece } from '../src/api/types'

const uuid = () => `01930000-0000-7000-8000-${Date.now().toString(16).padStart(12, '0').slice(-12)}`

/** A model with at least three pieces here, none of them named by a notice yet. */
async function modelWithThree(page: Page) {
  const groups = new Map<string, Piece[]>()
  for (const piece of records<Piece>(await feed(page), 'piece'))
    if (piece.state === 'in_service' && piece.kind === 'cutter')
      groups.set(piece.model, [...(groups.get(piece.model) ?? []), piece])
  const found = [...groups].find(([, pieces]) => pieces.length >= 3)
  if (!found) throw new Error('no model with three pieces')
  return { model: found[0], pieces: found[1] }
}

test('a notice is looked for, not found stays open, the shop clears with evidence, and it is withdrawn', async ({
  page,
  browser,
}) => {
  test.setTimeout(120_000)
  await signedIn(page)
  const { model } = await modelWithThree(page)
  const number = `T-${Date.now() % 100_000}`
  const id = uuid()
  const issued = await command(page, 'notice.issue', {
    id,
    number,
    title: 'Handle may stick',
    text: 'The return spring of the handle may break. Fit the new spring.',
    issuer: 'The maker',
    dated: '2026-11-01',
    action: { do: 'stop_use' },
    covers: { models: [model], serials: [], made_from: null, made_to: null },
  })
  expect(issued?.outcome).toBe('applied')
  const shop = await browser.newContext()
  try {
    const before = await answer<NoticeProgress>(page, `/v1/notices/${id}/pieces`)
    const [one, two] = before.items
    if (!one || !two) throw new Error('the notice is about nothing')

    // The list, then the notice.
    await page.goto('/notices')
    const row = page.getByRole('listitem').filter({ hasText: number })
    await expect(row).toContainText('Stop use')
    await expect(row).toContainText(`${before.open} of ${before.pieces} pieces open`)
    await row.getByRole('link').click()
    await expect(page.getByRole('heading', { level: 1 })).toContainText(number)
    await expect(page.getByRole('heading', { name: `0 of ${before.pieces} done` })).toBeVisible()

    // A shift has read it; the other stations have not.
    await page.getByRole('button', { name: 'Our shift has read it' }).click()
    await page.getByRole('dialog').getByLabel('Station').selectOption({ index: 1 })
    await page
      .getByRole('dialog')
      .getByLabel(/^Which shift/)
      .fill('A shift')
    await page.getByRole('dialog').getByRole('button', { name: 'It is read' }).click()
    const receipts = page.getByRole('region', { name: /^Read at 1 of / })
    await expect(receipts.getByText('A shift')).toBeVisible()
    await expect(receipts.getByText('Nobody has said that it was read.').first()).toBeVisible()

    // Found.
    await page.getByRole('button', { name: `Found ${one.tag}`, exact: true }).click()
    await page.getByRole('dialog').getByRole('button', { name: 'It is found' }).click()
    const first = page.locator(`li[data-tag="${one.tag}"]`)
    await expect(first).toContainText('Found, still to be done')

    // Not found stays open, and says so.
    await page.getByRole('button', { name: `Not found ${two.tag}`, exact: true }).click()
    const dialog = page.getByRole('dialog')
    await expect(dialog).toContainText('It stays open')
    await dialog.getByLabel(/Where you looked/).fill('Not in its compartment')
    await dialog.getByRole('button', { name: 'It was not found' }).click()
    const second = page.locator(`li[data-tag="${two.tag}"]`)
    await expect(second).toContainText('Not found, stays open')
    await expect(second).toContainText('“Not in its compartment”')
    await expect(page.getByRole('heading', { name: `0 of ${before.pieces} done, 1 not found` })).toBeVisible()

    // The piece says it too, with the way to the notice.
    await page.goto(`/pieces/${one.piece}`)
    const lines = page.getByRole('region', { name: 'Safety notices' })
    await expect(lines).toContainText('Found, still to be done')
    await expect(lines.getByRole('button', { name: 'Not found' })).toBeVisible()
    await expect(lines.getByRole('link', { name: new RegExp(number) })).toHaveAttribute(
      'href',
      `/notices/${id}`,
    )

    // The shop clears it, with what was done.
    const desk = await shop.newPage()
    await desk.goto(`${new URL(page.url()).origin}/notices/${id}`)
    await desk.getByLabel('E-mail').fill(SHOP)
    await desk.getByLabel('Password').fill(PASSWORD)
    await desk.getByRole('button', { name: 'Sign in' }).click()
    await desk.getByRole('button', { name: `Done ${one.tag}`, exact: true }).click()
    const clear = desk.getByRole('dialog')
    await clear.getByLabel(/What was done/).fill('New spring fitted, work sheet 118')
    await clear.getByRole('button', { name: 'It is done' }).click()
    await expect(clear).toBeHidden()
    const done = desk.locator(`li[data-tag="${one.tag}"]`)
    await expect(done).toContainText('“New spring fitted, work sheet 118”')
    await expect(done.getByRole('button')).toHaveCount(0)
    await expect(desk.getByRole('heading', { name: `1 of ${before.pieces} done, 1 not found` })).toBeVisible()
    await expect(desk.getByRole('button', { name: 'Withdraw it' })).toHaveCount(0)

    // The line on the piece has gone with it, live.
    await expect(lines).toHaveCount(0)

    // Withdrawn with a reason.
    await page.goto(`/notices/${id}`)
    await page.getByRole('button', { name: 'Withdraw it' }).click()
    await dialog.getByLabel('Why it is withdrawn').fill('End of test')
    await dialog.getByRole('button', { name: 'Withdraw it' }).click()
    await expect(dialog).toBeHidden()
    await expect(page.getByText(/Withdrawn .* “End of test”/)).toBeVisible()
    await expect(page.getByRole('button', { name: /^Found/ })).toHaveCount(0)
    expect((await answer<Notice>(page, `/v1/notices/${id}`)).withdrawn_reason).toBe('End of test')
  } finally {
    await shop.close()
    const stands = await answer<Notice>(page, `/v1/notices/${id}`)
    if (!stands.withdrawn_at)
      await command(page, 'notice.withdraw', { id, reason: 'End of test' }, stands.rev)
  }
})

test('a notice is entered from its paper, with what it will do shown first', async ({ page }) => {
  await signIn(page, '/notices/new')
  const { model } = await modelWithThree(page)
  const name = (await answer<{ name: string }>(page, `/v1/models/${model}`)).name
  const number = `F-${Date.now() % 100_000}`
  await page.getByLabel('Number on it').fill(number)
  await page.getByLabel('Day on it').fill('2026-11-25')
  await page.getByLabel(/^Title/).fill('Blade may crack')
  await page.getByLabel(/^Who issued it/).fill('The maker')
  await page.getByLabel('What it says').fill('Take it off the rig.')
  await expect(page.getByText('Still to be said: the models.')).toBeVisible()
  await page.getByLabel('Search by name or kind').fill(name)
  await page
    .getByRole('group', { name: /Models/ })
    .getByRole('checkbox', { name: new RegExp(`^${name},`) })
    .check()
  // Every serial number of this range is unlike those of the register: nothing may change.
  await page.getByRole('button', { name: 'Add a range' }).click()
  await page.getByLabel('From').fill('ZZ-900000001')
  await page.getByLabel('To, with it').fill('ZZ-900000002')
  await expect(page.getByRole('heading', { name: 'What it would do' })).toBeVisible()
  await page.getByRole('button', { name: 'Put it in force' }).click()
  await expect(page.getByRole('heading', { level: 1 })).toContainText(`${number}: Blade may crack`)
  await expect(page.getByText('Serial numbers ZZ-900000001 to ZZ-900000002')).toBeVisible()
  const id = new URL(page.url()).pathname.split('/').at(-1) ?? ''
  const stands = await answer<Notice>(page, `/v1/notices/${id}`)
  expect(stands.covers.models).toEqual([model])
  await command(page, 'notice.withdraw', { id, reason: 'End of test' }, stands.rev)
})
