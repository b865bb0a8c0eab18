import { command, feed, fullRig, giveBack, records, signedIn } from './helpers'
import { readable } from './readable'
import { expect, test } from './test'
import type { Defect, Shop, Ticket } from '../src/api/types'

test('a repair says who works on it, until when, why it waits, what it took and what it came from', async ({
  page,
}) => {
  test.setTimeout(120_000)
  await signedIn(page)
  const { piece } = await fullRig(page, 'spreader')
  const shop = records<Shop>(await feed(page), 'shop')[0]
  await command(page, 'piece.take_out', { id: piece.id, reason: 'Test of the shop', planned: true })
  const id = `01a2${Date.now().toString(16).slice(-4)}-0000-7000-8000-${Math.random().toString(16).slice(2).padEnd(12, '0').slice(0, 12)}`
  const opened = await command(page, 'ticket.open', {
    id,
    piece: piece.id,
    shop: shop?.id,
    what: 'Look it over',
  })
  expect(opened?.outcome).toBe('applied')
  await page.goto(`/bench/${id}`)
  const dialog = page.getByRole('dialog')
  const step = async (name: string, fill: () => Promise<unknown> = async () => {}) => {
    const button = page.locator('.steps').getByRole('button', { name, exact: true })
    if (!(await button.isVisible())) await page.getByText('Other steps').click()
    await button.click()
    await fill()
    await dialog.getByRole('button', { name, exact: true }).click()
    await expect(dialog).toHaveCount(0)
  }
  await step('Take it in')
  await step('Say who works on it')
  await expect(page.getByText('Mechanic', { exact: true })).toBeVisible()
  const day = (days: number) => new Date(Date.now() + days * 86_400_000).toISOString().slice(0, 10)
  await step('Say when it is ready', () => dialog.getByLabel(/Ready to go home on/).fill(day(4)))
  await step('Say when it is ready', () => dialog.getByLabel(/Ready to go home on/).fill(day(6)))
  await expect(page.getByText(/ready by .*; first promised/)).toBeVisible()
  await step('Set it aside', async () => {
    await dialog.getByLabel('Waits for').selectOption({ label: 'somebody outside' })
    await dialog.getByLabel(/What exactly/).fill('rod ground')
  })
  await expect(page.getByText(/waits for somebody outside: “rod ground”/)).toBeVisible()
  await step('Add a part or work', async () => {
    await dialog.getByLabel('Kind').selectOption({ label: 'Work done outside, or carriage' })
    await dialog.getByLabel('What', { exact: true }).fill('Rod ground')
    await dialog.getByLabel(/^Cost/).fill('88.50')
    await dialog.getByLabel(/From whom/).fill('Sparrowhale service')
  })
  await expect(page.getByText(/So far: 88.50/)).toBeVisible()
  const later = `01a3${id.slice(4)}`
  await command(page, 'defect.report', {
    ...{ id: later, piece: piece.id, what: 'Label gone', class: 'other', severity: 'usable' },
  })
  await step('Add other defects of it', () => dialog.getByLabel(/Label gone/).check())
  await expect(page.getByText('Label gone')).toBeVisible()
  await step('Say what it came from', () =>
    dialog.getByLabel('What it came from').selectOption({ label: 'Worn by use' }),
  )
  await expect(page.getByText('Came from', { exact: true })).toBeVisible()
  await readable(page, 'a ticket', false)
  await page.goto('/bench')
  await page.getByRole('link', { name: /^Mine \(\d+\)/ }).click()
  await expect(page.getByRole('link', { name: new RegExp(`${piece.tag}.*Look it over`) })).toBeVisible()
  const changes = await feed(page)
  expect(records<Ticket>(changes, 'ticket').find((one) => one.id === id)).toMatchObject({
    ...{ cause: 'wear', hold_reason: 'outside_service', promise: { moved: 1 }, defects: [later] },
    sums: { cost: 88.5, unpriced: 0, minutes: 0 },
  })
  expect(records<Defect>(changes, 'defect').find((one) => one.id === later)?.ticket).toBe(id)
  await page.goto(`/bench/${id}`)
  await step('Stop the repair', () => dialog.getByLabel('Why').fill('End of test'))
  await giveBack(page, piece.id)
})

test('what others lend us is on the bench with the day on which it goes back', async ({ page }) => {
  await signedIn(page)
  const { piece } = await fullRig(page, 'ram')
  await page.goto(`/pieces/${piece.id}`)
  await page.getByRole('button', { name: 'Edit its record' }).click()
  const dialog = page.getByRole('dialog')
  await dialog.getByLabel(/Lent to us by/).fill('Sparrowhale service')
  await dialog.getByLabel(/Due back with them/).fill('2026-01-05')
  await dialog.getByRole('button', { name: 'Save' }).click()
  await expect(page.getByText(/Sparrowhale service, due back with them/)).toBeVisible()
  await page.goto('/bench')
  const line = page.getByRole('listitem').filter({ hasText: piece.tag }).filter({ hasText: 'lent to us by' })
  await expect(line).toContainText('Overdue since')
  const now = records<{ id: string; rev: number }>(await feed(page), 'piece').find(
    (one) => one.id === piece.id,
  )
  await command(page, 'piece.edit', { id: piece.id, lent_by: null }, now?.rev)
})
