// Operating cards: written, approved by a named person, first after a scan, and there without a signal with their pictures.
import type { Page } from '@playwright/test'
import type { CardDraft, Model, OperatingCard, Piece } from '../src/api/types'
import { feed, records, signIn } from './helpers'
import { picture } from './film'
import { looks, readable } from './readable'
import { expect, test } from './test'

/** A piece in service whose model has a card, or has none. */
async function carded(page: Page, has: boolean) {
  const changes = await feed(page)
  const cards = new Set(
    records<OperatingCard>(changes, 'operating_card')
      .filter((one) => one.text)
      .map((one) => one.id),
  )
  const drafts = new Set(
    records<CardDraft>(changes, 'card_draft').map((one) => one.subject.of === 'model' && one.subject.model),
  )
  const pieces = records<Piece>(changes, 'piece').filter((one) => one.place.at === 'rig')
  const piece = pieces.find(
    (one) => cards.has(one.model) === has && !drafts.has(one.model) && one.kind !== 'hose',
  )
  const model = records<Model>(changes, 'model').find((one) => one.id === piece?.model)
  if (!piece || !model) throw new Error('the county has no such piece')
  return { piece, model }
}

for (const { size, scheme } of looks('phone'))
  test(`a scan shows first how the piece is run, or that there is no card (${size.name}, ${scheme})`, async ({
    page,
  }) => {
    await page.setViewportSize(size)
    await page.emulateMedia({ colorScheme: scheme })
    await signIn(page)
    const { piece, model } = await carded(page, true)
    await page.goto(`/tag/${piece.tag}`)
    const run = page.getByRole('region', { name: 'Operating card' })
    await expect(run).toContainText(/Version \d+, approved by .+ on /)
    await expect(run).toContainText('maker’s manual and local orders come before')
    await expect(run.getByRole('group').first()).toBeVisible()
    await readable(page, 'a piece with its card', size.name === 'phone')
    await run.getByRole('link', { name: `The whole card of ${model.name}` }).click()
    await expect(page.getByRole('heading', { name: model.name })).toBeVisible()
    await expect(page.getByRole('region', { name: 'Before you touch it' })).toContainText(
      'Trained members only',
    )
    await readable(page, 'a card', size.name === 'phone')

    const without = await carded(page, false)
    await page.goto(`/pieces/${without.piece.id}`)
    await expect(run).toContainText(`No operating card for ${without.model.name}`)
    await expect(run).toContainText('Run it by the maker’s manual')
    await expect(run.getByRole('listitem')).toHaveCount(0)
  })

test('a card is written with a picture, approved, and its next version leaves the first as it was', async ({
  page,
}) => {
  await signIn(page)
  const { piece, model } = await carded(page, false)
  await page.goto(`/programme/cards?q=${encodeURIComponent(model.name)}`)
  await readable(page, 'the list of cards', false)
  await page
    .getByRole('listitem')
    .filter({ hasText: model.name })
    .getByRole('link', { name: /^Open it/ })
    .click()
  await expect(page.getByText('There is no card to go by.')).toBeVisible()
  await page.getByRole('link', { name: 'Write it' }).click()
  const start = page.getByRole('textbox', { name: 'Start', exact: true })
  await start.fill('1. Look at **both** ends\n2. <b>Pull</b>')
  await page
    .getByLabel('Add a picture')
    .setInputFiles({ name: 'lever.png', mimeType: 'image/png', buffer: picture() })
  const send = page.getByRole('button', { name: 'Keep the draft' })
  await expect(send).toBeDisabled()
  await page.getByLabel('What it shows').fill('The lever, at rest')
  // HTML stays signs in the preview; the service takes none.
  const preview = page.getByRole('region', { name: 'How it will look' })
  await expect(preview).toContainText('<b>Pull</b>')
  await send.click()
  await expect(page.getByText(/This holds HTML/).first()).toBeVisible()
  await start.fill('1. Look at **both** ends\n2. Pull')
  await expect(preview.getByRole('img').or(preview.locator('img'))).toBeVisible()
  await readable(page, 'the form of a card', false)
  await send.click()
  const waiting = page.getByRole('region', { name: /Waiting to be approved/ })
  await expect(waiting).toBeVisible()
  // Nothing counts yet.
  await page.goto(`/pieces/${piece.id}`)
  await expect(page.getByRole('region', { name: 'Operating card' })).toContainText('No operating card')
  await page.goto(`/cards/${model.id}`)
  await waiting.getByRole('button', { name: /^Approve it/ }).click()
  await page.getByRole('dialog').getByRole('button', { name: 'Approve it' }).click()
  const card = page.getByRole('article', { name: 'The card' })
  await expect(card).toContainText('Version 1, approved by')
  await expect(card.getByRole('listitem')).toHaveText(['Look at both ends', 'Pull'])
  await expect(card.locator('strong').first()).toHaveText('both')
  await expect(card.locator('img')).toBeVisible()
  await expect(card).toContainText('The lever, at rest')

  await page.getByRole('link', { name: 'Write the next version' }).click()
  await start.fill('1. Look at **both** ends\n2. Push')
  await page.getByLabel(/What is new/).fill('push, not pull')
  await send.click()
  await waiting.getByRole('button', { name: /^Approve it/ }).click()
  await page.getByRole('dialog').getByRole('button', { name: 'Approve it' }).click()
  await expect(card).toContainText('Version 2, approved by')
  await page.getByText('All versions').click()
  await page.getByText('What version 1 said').click()
  await expect(page.getByRole('group').filter({ hasText: 'What version 1 said' }).last()).toContainText(
    'Pull',
  )

  await page.getByRole('button', { name: 'Withdraw it' }).click()
  await page.getByLabel('What is wrong with it').fill('End of test')
  await page.getByRole('dialog').getByRole('button', { name: 'Withdraw it' }).click()
  await expect(page.getByText('There is no card to go by.')).toBeVisible()
  await expect(page.getByText(/was withdrawn .*“End of test”/).first()).toBeVisible()
})
