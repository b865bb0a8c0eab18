// A crew that is detailed to another house: its phone keeps its own station, and reports on what stands there all the same.
import type { Page } from '@playwright/test'
import type { Change, Defect, Piece, Rig, Station } from '../src/api/types'
import { feed, fullRig, giveBack, records, signedIn, visit } from './helpers'
import { readable } from './readable'
import { expect, test } from './test'

test.describe.configure({ timeout: 120_000 })
test.use({ viewport: { width: 390, height: 844 }, hasTouch: true, serviceWorkers: 'allow' })

const heading = (page: Page) => page.getByRole('heading', { level: 1 })
const SENT = { timeout: 20_000 }

/** The station whose feed holds a piece that has its home there. */
function homeOf(changes: Change[], { home }: Piece): string | undefined {
  if (home?.at === 'shelf') return home.station
  return home?.at === 'rig'
    ? records<Rig>(changes, 'rig').find((rig) => rig.id === home.rig)?.station
    : undefined
}

/** A phone that keeps one station, and a full rig of another one with a tool whose loss drops it. */
async function detailed(page: Page) {
  await signedIn(page)
  const { rig, piece } = await fullRig(page)
  const changes = await feed(page)
  const stations = records<Station>(changes, 'station')
  const own = stations.find((one) => one.id !== rig.station && one.id !== homeOf(changes, piece))
  const house = stations.find((one) => one.id === rig.station)
  if (!own || !house) throw new Error('no second station in this agency')
  await page.goto('/outbox')
  const whose = page.getByLabel('Whose data is here')
  await whose.selectOption(own.id)
  await expect(whose).toBeEnabled(SENT)
  await expect(whose).toHaveValue(own.id)
  return { rig, piece, house }
}

test('a piece of another house is reported like any other, and its officer is named', async ({ page }) => {
  const { rig, piece, house } = await detailed(page)
  await page.goto(`/pieces/${piece.id}`)
  await expect(heading(page)).toContainText(piece.tag, SENT)
  await expect(page.getByText('Not in this phone’s data:', { exact: false })).toBeVisible()
  await page.getByRole('button', { name: /^Leak ?: out of service at once/ }).tap()
  await expect(heading(page)).toHaveText(`${piece.tag} is out of service`, SENT)
  const level = page.getByRole('region', { name: `${rig.name} now` })
  await expect(level).toContainText('As the server answered just now.', SENT)
  await expect(level).not.toContainText('Full')
  await expect(page.getByText('Hang the tag on', { exact: false })).toBeVisible()
  await expect(page.getByText(`the officer of ${house.name}`, { exact: false }).first()).toBeVisible()
  await readable(page, 'reported at another house', true)
  const open = records<Defect>(await feed(page), 'defect').filter(
    (one) => one.piece === piece.id && one.state === 'open',
  )
  expect(open).toMatchObject([{ what: 'Leak', class: 'leak', severity: 'out_of_service' }])

  // What is open there is shown, and seen again it joins that.
  await page.getByRole('link', { name: `Back to ${piece.tag}` }).tap()
  await expect(page.getByRole('heading', { name: 'Open defects (1)' })).toBeVisible(SENT)
  await page.getByRole('link', { name: 'Report a defect' }).tap()
  await expect(page.getByRole('heading', { name: 'Is it this one?' })).toBeVisible()
  await page.getByRole('button', { name: 'Yes, this one' }).tap()
  await page.getByRole('button', { name: 'Send: seen again' }).tap()
  await expect(page.getByText('joined to the open defect', { exact: false })).toBeVisible(SENT)
  await giveBack(page, piece.id)
})

test('a piece of another house says how it is checked, and without a signal whom to tell', async ({
  page,
  context,
}) => {
  const { piece, house } = await detailed(page)
  await page.goto(`/pieces/${piece.id}/check`)
  await expect(heading(page)).toHaveText(`${piece.tag} cannot be checked from here`, SENT)
  await expect(page.getByText(`choose ${house.name} or the whole agency`, { exact: false })).toBeVisible()
  await readable(page, 'a check at another house', true)
  await page.getByRole('link', { name: 'Report a defect' }).tap()
  await expect(heading(page)).toHaveText(`What is wrong with ${piece.tag}?`, SENT)

  // One that was not asked about before the signal went.
  const changes = await feed(page)
  const other = records<Piece>(changes, 'piece').find(
    (one) =>
      one.id !== piece.id &&
      one.place.at === 'rig' &&
      JSON.stringify(one.place) === JSON.stringify(piece.place),
  )
  await page.evaluate(async () => void (await navigator.serviceWorker.ready))
  await context.setOffline(true)
  await visit(page, `/pieces/${other?.id}/report`)
  await expect(heading(page)).toHaveText('This piece is not on this phone')
  await expect(
    page.getByText('tell the officer of its station by radio or phone', { exact: false }),
  ).toBeVisible()
  await readable(page, 'no signal at another house', true)
  await context.setOffline(false)
})
