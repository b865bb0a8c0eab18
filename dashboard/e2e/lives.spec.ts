// What runs out: the numbers of the service, as a spreadsheet and by district; a month alone on a label; how long a model serves.
import { readFileSync } from 'node:fs'
import type { Model, Piece, ServiceLives } from '../src/api/types'
import { answer, command, feed, records, signIn } from './helpers'
import { looks, readable } from './readable'
import { expect, test } from './test'

test('what runs out is told as the service says it, and as a spreadsheet', async ({ page }) => {
  await signIn(page)
  const lives = await answer<ServiceLives>(page, '/v1/service-lives')
  const all = lives.dated.length + lives.counted.length + lives.unknown.length
  expect(all).toBeGreaterThan(0)
  await page.goto('/lives')
  const ahead = lives.dated.filter((life) => !life.ended).length
  if (ahead) {
    await expect(page.getByRole('heading', { level: 1 })).toContainText(`${ahead} `)
    const rows = page.getByRole('region', { name: 'How much runs out when, table' }).getByRole('row')
    await expect(rows).toHaveCount(lives.months.length + 1)
  }
  for (const { words } of lives.unknown_counts)
    await expect(page.getByText(words.replace(/^./, (c) => c.toUpperCase()))).toBeVisible()
  const [file] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('button', { name: 'Download as a spreadsheet' }).click(),
  ])
  expect(file.suggestedFilename()).toContain('running-out')
  const lines = readFileSync(await file.path(), 'utf8')
    .trim()
    .split('\r\n')
  expect(lines).toHaveLength(all + lives.no_life.length + 1)
  // One district of them, five years ahead, stays in the address.
  const district = lives.dated[0]?.district ?? lives.unknown[0]?.district ?? ''
  await page.getByRole('combobox', { name: 'District' }).selectOption(district)
  await page.getByRole('combobox', { name: 'How far ahead' }).selectOption('60')
  await expect(page).toHaveURL(/district=.*months=60|months=60.*district=/)
  const own = await answer<ServiceLives>(page, `/v1/service-lives?months=60&district=${district}`)
  await expect(
    page.getByRole('region', { name: 'How much runs out when, table' }).getByRole('row'),
  ).toHaveCount(own.months.length + 1)
})

test('a label that names a month alone is entered so, and counts from its first day', async ({ page }) => {
  await signIn(page)
  const hose = records<Piece>(await feed(page), 'piece').find(
    (one) => one.kind === 'hose' && one.place.at === 'shelf' && one.state === 'in_service' && one.made_on,
  )
  if (!hose) throw new Error('no spare hose')
  const before = hose.made_on
  try {
    await page.goto(`/pieces/${hose.id}`)
    await page.getByRole('button', { name: 'Edit its record' }).click()
    const dialog = page.getByRole('dialog')
    await dialog.getByRole('checkbox', { name: /Its label names only a month/ }).check()
    await dialog.getByLabel(/^Made on, as year-month/).fill('2018-05')
    await dialog.getByLabel(/^In service since/).fill('2018-06-01')
    const why = dialog.getByLabel('Why, as the record keeps it')
    await dialog.getByRole('button', { name: 'Save' }).click()
    if (await why.isVisible()) {
      await why.fill('Read on its label')
      await dialog.getByRole('button', { name: 'Save' }).click()
    }
    await expect(dialog).toBeHidden()
    await expect(page.getByText('May 2018')).toBeVisible()
    const lives = await answer<ServiceLives>(page, '/v1/service-lives?months=120')
    expect(lives.dated.find((life) => life.piece === hose.id)?.ends_on).toBe('2028-05-01')
  } finally {
    const { rev } = await answer<Piece>(page, `/v1/pieces/${hose.id}`)
    const back = { made_on: before, in_service_since: hose.in_service_since, reason: 'End of test' }
    await command(page, 'piece.edit', { id: hose.id, ...back }, rev)
  }
})

test('how long a model serves is entered from its manual, and taken off again', async ({ page }) => {
  await signIn(page)
  const model = records<Model>(await feed(page), 'model').find((one) => one.kind === 'power_unit')
  if (!model) throw new Error('no pump')
  await page.goto('/programme/limits')
  await page.getByRole('button', { name: 'Enter how long a model serves' }).click()
  const dialog = page.getByRole('dialog')
  await dialog.getByLabel('Model').selectOption(model.id)
  await dialog.getByLabel(/^Years/).fill('50')
  await dialog.getByLabel(/^Where it stands/).fill('Service manual, p. 4')
  // More pieces are judged anew than can be seen at once.
  await dialog.getByLabel(/^Why/).fill('read in the manual')
  await dialog.getByRole('button', { name: 'Save' }).click()
  await expect(dialog).toBeHidden()
  const section = page.getByRole('region', { name: 'How long things serve' })
  const row = section.getByRole('listitem').filter({ hasText: model.name })
  await expect(row).toContainText('50 years')
  await expect(row).toContainText('Service manual, p. 4')
  await row.getByRole('button', { name: /Change/ }).click()
  await dialog.getByLabel(/take it off the record/).check()
  await dialog.getByLabel(/^Why/).fill('it was another model')
  await dialog.getByRole('button', { name: 'Take it off the record' }).click()
  await expect(dialog).toBeHidden()
  expect((await answer<Model>(page, `/v1/models/${model.id}`)).service_lives).toEqual([])
})

for (const { size, scheme } of looks('desk')) {
  test(`what runs out is readable, on a ${size.name}, ${scheme}`, async ({ page }) => {
    await page.setViewportSize(size)
    await page.emulateMedia({ colorScheme: scheme, reducedMotion: 'reduce' })
    await signIn(page)
    await page.goto('/lives?months=120')
    await expect(page.getByRole('table').first()).toBeVisible()
    await readable(page, 'lives', size.name === 'phone')
  })
}
