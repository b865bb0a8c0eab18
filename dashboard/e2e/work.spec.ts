import { execFileSync } from 'node:child_process'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import path from 'node:path'
import { answer, command, feed, fillRelease, fullRig, giveBack, records, signedIn, signIn } from './helpers'
import { expect, test } from './test'
import type { Piece, Shop } from '../src/api/types'

test('every number of the board opens the list behind it, and the filter is in the address', async ({
  page,
}) => {
  await signIn(page)
  const full = page.locator('.totals a', { hasText: 'Full' })
  const count = Number(await full.locator('.count').textContent())
  await full.click()
  await expect(page).toHaveURL(/level=full/)
  await expect(page.locator('.district li.rig')).toHaveCount(count)
  await page.reload()
  await expect(page.locator('.district li.rig')).toHaveCount(count)
  await page.getByRole('link', { name: 'Show all' }).click()
  await expect(page).not.toHaveURL(/level/)
})

test('a slash and a tag lead to the piece', async ({ page }) => {
  await signIn(page)
  const piece = records<Piece>(await feed(page), 'piece')[0]
  await page.locator('h1').click()
  await page.keyboard.press('/')
  await page.keyboard.type(piece?.tag ?? '')
  await page.keyboard.press('Enter')
  await expect(page.getByRole('heading', { level: 1 })).toContainText(piece?.tag ?? '?')
})

test('a repeat joins the open defect', async ({ page }) => {
  await signedIn(page)
  const { piece } = await fullRig(page)
  await page.goto(`/pieces/${piece.id}/report`)
  await page.getByRole('button', { name: 'Something else' }).click()
  await page.getByLabel('In your own words').fill('Scratch on the label')
  await page.getByRole('button', { name: 'Send: still usable' }).click()
  await page.getByRole('link', { name: `Back to ${piece.tag}` }).click()
  await expect(page.getByRole('heading', { name: 'Open defects (1)' })).toBeVisible()
  await page.getByRole('link', { name: 'Seen again' }).click()
  await page.getByLabel(/What you saw/).fill('Now half gone')
  await page.getByRole('button', { name: 'Send: seen again' }).click()
  await expect(page.getByRole('heading', { name: 'Open defects (1)' })).toBeVisible()
  await expect(page.getByText(/^Again .*Now half gone/)).toBeVisible()
  await giveBack(page, piece.id)
})

test('a stand-in goes aboard from the gap, is listed, and goes back', async ({ page }) => {
  await signedIn(page)
  // Of the same model, one lies on a shelf and could go aboard at once.
  const { rig, piece, standing } = await fullRig(page, 'ram', (own, all) =>
    all.some((one) => one.model === own.model && one.state === 'in_service' && 'station' in one.place),
  )
  await command(page, 'piece.take_out', { id: piece.id, reason: 'Test of a swap' })
  await page.goto(`/rigs/${rig.id}`)
  const gap = page.locator('#gaps')
  await gap
    .getByRole('link', { name: /^Put .* aboard$/ })
    .first()
    .click()
  await expect(page).toHaveURL(/gap=need/)
  const driving = page.getByLabel('It still has to be driven over').first()
  if (await driving.isChecked()) await driving.uncheck()
  await page
    .getByRole('button', { name: /Put aboard/ })
    .first()
    .click()
  await expect(page.getByRole('heading', { level: 1 })).toHaveText(rig.name)
  await expect(page.getByText('Records say that it meets the full grade')).toBeVisible()
  expect(standing.level).toBe('full')
  await page.goto(`/swaps?rig=${rig.id}`)
  await page.getByRole('button', { name: 'End it' }).first().click()
  await page.getByRole('dialog').getByRole('button', { name: 'End it' }).click()
  await expect(page.getByText('Lately ended')).toBeVisible()
  await giveBack(page, piece.id)
})

test('a piece that is away for planned service is no failure', async ({ page }) => {
  await signedIn(page)
  const { rig, piece } = await fullRig(page, 'ram')
  await page.goto(`/pieces/${piece.id}`)
  await page.getByRole('button', { name: 'Take out of service' }).click()
  const dialog = page.getByRole('dialog')
  await dialog.getByLabel(/For planned service/).check()
  await expect(dialog.getByLabel('Reason')).toHaveValue('Annual service')
  await dialog.getByRole('button', { name: 'Take out of service' }).click()
  await expect(page.getByText(`${piece.tag} is out of service.`)).toBeVisible()
  await expect(page.getByText(/“Annual service”/).first()).toBeVisible()
  await expect(page.getByText(/For planned service/).first()).toBeVisible()
  const stands = await answer<{ items: { level: string; planned: boolean }[] }>(
    page,
    `/v1/rigs/${rig.id}/standing`,
  )
  expect(stands.items[0]).toMatchObject({ planned: true })
  expect(stands.items[0]?.level).not.toBe('full')
  const stops = await answer<{ items: { piece: string; planned: boolean; until: string | null }[] }>(
    page,
    '/v1/reliability/stops?by=kind&key=ram',
  )
  expect(stops.items.find((stop) => stop.piece === piece.id && !stop.until)?.planned).toBe(true)
  await giveBack(page, piece.id)
})

test('a piece goes over the bench and comes back only after a passed test', async ({ page }) => {
  await signedIn(page)
  const { piece } = await fullRig(page)
  const shops = records<Shop>(await feed(page), 'shop')
  expect(shops.length).toBeGreaterThan(0)
  await command(page, 'piece.take_out', { id: piece.id, reason: 'Test of the bench', planned: true })
  await page.goto(`/pieces/${piece.id}`)
  await page.getByRole('link', { name: 'Open a ticket' }).click()
  await page.getByLabel('What is to be done').fill('Look it over')
  await page.getByRole('button', { name: 'Open the ticket' }).click()
  const dialog = page.getByRole('dialog')
  await page.getByRole('button', { name: 'Take it in' }).click()
  await dialog.getByRole('button', { name: 'Take it in' }).click()
  await expect(page.getByText('Taken in', { exact: true }).first()).toBeVisible()
  // What the ticket does not allow yet is not offered.
  await page.getByText('Other steps').click()
  await expect(page.getByRole('button', { name: 'Stop the repair' })).toBeVisible()
  await expect(page.getByRole('button', { name: 'Return to service' })).toHaveCount(0)
  await page.getByRole('button', { name: 'Put it on the bench' }).click()
  await dialog.getByRole('button', { name: 'Put it on the bench' }).click()
  await expect(page.getByText('On the bench', { exact: true }).first()).toBeVisible()
  await page.getByRole('button', { name: 'Record a test' }).click()
  // Nothing is preset, and nothing goes that nobody has judged.
  await expect(dialog.getByRole('button', { name: 'Record a test' })).toBeDisabled()
  await dialog.getByLabel('Passed').check()
  await fillRelease(page, piece.id, 'Held at the end stop')
  await dialog.getByRole('button', { name: 'Record a test' }).click()
  await expect(page.getByText('Tested, ready to go home')).toBeVisible()
  await page.getByRole('button', { name: 'Return to service' }).click()
  await dialog.getByLabel('It is there already').check()
  await dialog.getByRole('button', { name: 'Return to service' }).click()
  await expect(page.getByText('Done', { exact: true }).first()).toBeVisible()
})

test('an import shows every row before anything is written, and can be undone', async ({ page }) => {
  await signIn(page, '/register')
  const offered = page.getByRole('link', { name: 'Import a file' })
  await expect(offered).toBeVisible()
  const changes = await feed(page)
  const piece = records<Piece>(changes, 'piece').find((p) => p.place.at === 'rig' && p.kind === 'accessory')
  const model = records<{ id: string; name: string }>(changes, 'model').find((m) => m.id === piece?.model)
  const place = piece?.place.at === 'rig' ? piece.place.rig : ''
  const rig = records<{ id: string; name: string }>(changes, 'rig').find((r) => r.id === place)
  const tag = `T-${Date.now() % 1_000_000}`
  const row = (asset: string) => `${asset},${piece?.kind},${model?.name},${rig?.name}`
  const csv = ['Asset tag,Kind,Model,Assigned to', row(tag), row(tag)].join('\n')
  await offered.click()
  await page
    .locator('input[type=file]')
    .setInputFiles({ name: 'small.csv', mimeType: 'text/csv', buffer: Buffer.from(csv) })
  await expect(page.getByRole('heading', { name: /1 row would be taken in, 1 refused/ })).toBeVisible()
  await expect(page.getByText('Line 3', { exact: false }).first()).toBeVisible()
  await page.getByRole('button', { name: 'Import 1 row' }).click()
  await expect(page.getByRole('heading', { name: /1 row taken in/ })).toBeVisible()
  // The row that was refused is corrected where it stands, and read again by itself.
  const correct = page.getByRole('form', { name: 'Correct the refused rows here' })
  await correct.getByLabel('Asset tag').fill(`${tag}-B`)
  await correct.getByRole('button', { name: 'Read 1 corrected row again' }).click()
  await expect(page.getByRole('heading', { name: /1 row would be taken in/ })).toBeVisible()
  await page.getByRole('button', { name: 'Import 1 row' }).click()
  await expect(page.getByRole('heading', { name: /1 row taken in/ })).toBeVisible()
  await page.getByRole('button', { name: 'Undo this import' }).click()
  await expect(page.getByText('The import was undone.')).toBeVisible()
  await page.goto(`/register?q=${tag}-B`)
  await expect(page.getByText('No piece fits these filters.')).toBeVisible()
})

test('a workbook is read as its program saved it, the sheet of the register by itself', async ({ page }) => {
  const folder = mkdtempSync(path.join(tmpdir(), 'workbook-'))
  const outside = path.resolve('../target/outside/venv/bin/python')
  execFileSync(outside, ['../tests/outside/write-workbooks.py', folder])
  await signIn(page, '/register/import')
  for (const kind of ['xlsx', 'ods']) {
    await page.locator('input[type=file]').setInputFiles(path.join(folder, `register.${kind}`))
    await expect(page.getByText('Read from the sheet “Register” of the workbook')).toBeVisible()
    await expect(page.getByText('1003', { exact: true }).first()).toBeVisible()
    await page.getByRole('combobox', { name: /^Sheet/ }).selectOption('Notes')
    await expect(page.getByText(/no line was found that heads the columns/)).toBeVisible()
  }
  rmSync(folder, { recursive: true })
})
