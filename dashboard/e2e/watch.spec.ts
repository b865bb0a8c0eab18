// For whoever takes over: the strip on the board, the wall and the handover sheet.
import type { Page } from '@playwright/test'
import type { Rig, Station } from '../src/api/types'
import { command, feed, fullRig, giveBack, records, signedIn, signIn } from './helpers'
import { readable } from './readable'
import { expect, test } from './test'

const FOUND = 'Blade bent in the drill'

/** Takes a full rig below it, and says which. */
async function drop(page: Page) {
  const { rig, piece } = await fullRig(page)
  await command(page, 'defect.report', {
    ...{ id: crypto.randomUUID().replace(/^(.{14})./, '$17'), piece: piece.id },
    ...{ what: FOUND, class: 'other', severity: 'out_of_service' },
  })
  return { rig, piece }
}

test('what dropped stands on the board, on the wall and on the handover sheet, by whom', async ({ page }) => {
  test.setTimeout(150_000)
  await signIn(page)
  const { rig, piece } = await drop(page)
  const strip = page.getByRole('region', { name: /^Since / })
  await expect(strip.getByRole('link', { name: rig.name, exact: true })).toBeVisible()
  await expect(strip.getByText(FOUND, { exact: false })).toBeVisible()

  await page.setViewportSize({ width: 1920, height: 1080 })
  await page.goto('/wall')
  const tile = page.getByRole('listitem').filter({ has: page.getByText(rig.name, { exact: true }) })
  await expect(tile.getByText(/^was (full|heavy)$/)).toBeVisible()
  await expect(page.getByRole('status').getByText(/dropped.* since /)).toBeVisible()
  await readable(page, 'wall', false)

  await page.keyboard.press('Escape')
  await expect(page).toHaveURL(/\/$/)
  await page.goto('/handover?of=all')
  await expect(page.getByRole('heading', { name: 'Handover, the whole agency' })).toBeVisible()
  const changed = page.getByRole('region', { name: 'Changed' })
  await expect(changed.getByText(FOUND, { exact: false }).first()).toBeVisible()
  await expect(
    page.getByRole('region', { name: 'At risk' }).getByRole('link', { name: rig.name, exact: true }).first(),
  ).toBeVisible()
  for (const [width, height] of [
    [390, 844],
    [768, 1024],
  ] as const) {
    await page.setViewportSize({ width, height })
    await readable(page, `handover at ${width}`, width < 400)
  }
  await giveBack(page, piece.id)
})

test('the wall has every rig on one screen of 1920 by 1080, and marks those that changed alone', async ({
  page,
}) => {
  test.setTimeout(120_000)
  await page.setViewportSize({ width: 1920, height: 1080 })
  await signedIn(page)
  const { rig, piece } = await drop(page)
  const all = await feed(page)
  const placed = new Set(records<Station>(all, 'station').map((one) => one.id))
  const expected = records<Rig>(all, 'rig')
    .filter((one) => one.in_service && one.duty === 'front_line' && placed.has(one.station))
    .map((one) => one.name)
  await page.goto('/wall')
  const tiles = page.locator('.wall li.rig')
  await expect(tiles.filter({ has: page.getByText(rig.name, { exact: true }) })).toHaveClass(/moved/)
  expect((await tiles.locator('.name').allInnerTexts()).sort()).toEqual(expected.sort())
  const cut = await page.evaluate(() => {
    const out = [...document.querySelectorAll('.wall li')].filter((e) => {
      const box = e.getBoundingClientRect()
      return box.top < 0 || box.left < 0 || box.bottom > innerHeight || box.right > innerWidth
    })
    const names = [...document.querySelectorAll<HTMLElement>('.wall .name')].filter(
      (e) => e.scrollWidth > e.clientWidth,
    )
    const { scrollHeight, scrollWidth } = document.documentElement
    return [...out, ...names]
      .map((e) => e.textContent)
      .concat(scrollHeight > innerHeight || scrollWidth > innerWidth ? ['the page scrolls'] : [])
  })
  expect(cut).toEqual([])
  // The bar and the words beside it say the same of the same rigs.
  const [moved, said] = [
    await page.locator('.wall li.moved').count(),
    await page.locator('.wall .was').count(),
  ]
  expect(moved).toBe(said)
  expect(moved).toBeLessThan(expected.length)
  await giveBack(page, piece.id)
})
