// A phone in a bay after a call: damage by one tap, a slip that is taken back, and what was used looked over piece by piece.
import type { Page } from '@playwright/test'
import type { Change, Defect, Use } from '../src/api/types'
import { feed, fullRig, giveBack, records, signedIn } from './helpers'
import { readable } from './readable'
import { expect, test } from './test'

test.describe.configure({ timeout: 120_000 })
test.use({ viewport: { width: 390, height: 844 }, hasTouch: true, serviceWorkers: 'allow' })

const heading = (page: Page) => page.getByRole('heading', { level: 1 })
const openOn = (changes: Change[], piece: string) =>
  records<Defect>(changes, 'defect').filter((one) => one.piece === piece && one.state === 'open')
const SENT = { timeout: 20_000 }

/** A phone that keeps the whole app, and whose rig is one that a tool's loss drops. */
async function phoneOf(page: Page) {
  await signedIn(page)
  const { rig, piece } = await fullRig(page)
  await page.addInitScript((id) => localStorage.setItem('fullset.my-rig', id), rig.id)
  await page.goto(`/pieces/${piece.id}`)
  await expect(heading(page)).toContainText(piece.tag, SENT)
  await page.evaluate(async () => void (await navigator.serviceWorker.ready))
  return { rig, piece }
}

test('a leak is reported by one tap, and a slip is taken back before it leaves', async ({ page }) => {
  const { rig, piece } = await phoneOf(page)
  const leak = page.getByRole('button', { name: /^Leak ?: out of service at once/ })
  await leak.tap()
  await expect(heading(page)).toHaveText(`${piece.tag} is reported out of service`)
  await expect(page.getByText('It goes in a few seconds.', { exact: false })).toBeVisible()
  await expect(page.getByRole('region', { name: `${rig.name} now` })).toContainText('Was full')
  await page.getByRole('button', { name: /^Undo/ }).tap()
  await expect(page.getByText('Taken back. Nothing was sent.')).toBeVisible()
  expect(openOn(await feed(page), piece.id)).toEqual([])

  await leak.tap()
  await expect(heading(page)).toHaveText(`${piece.tag} is out of service`, SENT)
  await expect(page.getByText('Hang the tag on', { exact: false })).toBeVisible()
  await expect(page.getByRole('link', { name: 'Look for a stand-in' })).toBeVisible()
  await readable(page, 'after one tap', true)
  expect(openOn(await feed(page), piece.id)).toMatchObject([
    { what: 'Leak', class: 'leak', severity: 'out_of_service' },
  ])
  await page.getByRole('button', { name: 'Add a photo or words' }).tap()
  await page.getByLabel('What you saw (may stay empty)').fill('At the coupling')
  await page.getByRole('button', { name: 'Send: seen again' }).tap()
  await expect(page.getByText('joined to the open defect', { exact: false })).toBeVisible()
  await giveBack(page, piece.id)
})

test('the form is as it was at the tap, and tapped twice it reports once', async ({ page, context }) => {
  const { piece } = await phoneOf(page)
  await page.goto('/mine')
  // By key: what is still coming moves the buttons.
  await page.getByRole('button', { name: 'Defect', exact: true }).press('Enter')
  await page
    .getByRole('dialog')
    .getByRole('link', { name: new RegExp(`^${piece.tag} `) })
    .tap()
  await page.getByLabel('In your own words (may stay empty)').fill('Under the handle')
  await context.setOffline(true)
  await page.getByRole('button', { name: /^Cut ?: out of service at once/ }).dblclick()
  await expect(heading(page)).toHaveText(`${piece.tag} is reported out of service`)
  await expect(page.getByText('it goes when the signal is back', { exact: false })).toBeVisible(SENT)
  await expect(page.getByRole('button', { name: /^Undo/ })).toBeVisible()
  await context.setOffline(false)
  await expect(heading(page)).toHaveText(`${piece.tag} is out of service`, SENT)
  expect(openOn(await feed(page), piece.id)).toMatchObject([
    { what: 'Cut. Under the handle', class: 'cut_or_blister', severity: 'out_of_service' },
  ])
  await giveBack(page, piece.id)
})

for (const signal of [true, false]) {
  test(`what was used is looked over after a call, ${signal ? 'with' : 'without'} a signal`, async ({
    page,
    context,
  }) => {
    const { rig, piece } = await phoneOf(page)
    await page.goto(`/rigs/${rig.id}/use`)
    await page.getByRole('button', { name: 'Everything was used' }).tap()
    if (!signal) await context.setOffline(true)
    await page.getByRole('button', { name: /^Send: \d+ pieces used/ }).tap()
    await expect(heading(page)).toHaveText('Anything wrong after this call?', SENT)
    await readable(page, 'looked over after a call', true)

    const right = page.getByRole('button', { name: /^All right/ })
    await right.first().tap()
    await page.getByRole('link', { name: new RegExp(`^Something is wrong ?: ${piece.tag}$`) }).tap()
    await page.getByRole('button', { name: /^Leak ?: out of service at once/ }).tap()
    await page.getByRole('link', { name: 'Back to the list' }).tap()
    await expect(page.getByRole('listitem').filter({ hasText: piece.tag })).toContainText('“Leak”')
    await expect(right.first()).toHaveAttribute('aria-pressed', 'true')
    await page.getByRole('button', { name: /^(The other|All) \d+ are all right/ }).tap()
    await page.getByRole('button', { name: /^Send: \d+ all right/ }).tap()
    await expect(heading(page)).toHaveText('Something is wrong after this call', SENT)
    await expect(page.getByText('Looked over, nothing found', { exact: false })).toBeVisible()
    await expect(page.getByText('Not looked over', { exact: false })).toHaveCount(0)
    await readable(page, 'what came of the call', true)
    await context.setOffline(false)

    const told = async () => {
      const changes = await feed(page)
      const use = records<Use>(changes, 'use')
        .filter((one) => one.rig === rig.id)
        .toSorted((a, b) => b.used_at.localeCompare(a.used_at))[0]
      const looked = use?.checks.flatMap((check) => check.pieces) ?? []
      return {
        all: use?.pieces.length === looked.length + 1,
        wrong: looked.includes(piece.id),
        defects: openOn(changes, piece.id).map((one) => one.what),
      }
    }
    await expect.poll(told, SENT).toEqual({ all: true, wrong: false, defects: ['Leak'] })
    await giveBack(page, piece.id)
  })
}
