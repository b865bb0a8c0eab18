// The map of coverage: moved and zoomed by mouse, wheel and keys; clusters open; nothing is asked of anybody else.
import type { Locator, Page } from '@playwright/test'
import { originOf, signIn } from './helpers'
import { expect, test } from './test'

const area = (page: Page) => page.getByRole('group', { name: /^Map of zones, stations and rigs/ })
const middle = async (of: Locator) => {
  const box = await of.boundingBox()
  if (!box) throw new Error('it is not drawn')
  return { x: box.x + box.width / 2, y: box.y + box.height / 2 }
}
/** Where one mark is; it is chosen first, so that no cluster takes it in. */
async function chosen(page: Page): Promise<Locator> {
  await page.locator('.beside li[data-row]').first().getByRole('button').click()
  const mark = page.locator('[data-mark][aria-pressed="true"]')
  await expect(mark).toHaveCount(1)
  return mark
}
/** A place of the map without a mark within a finger. */
async function ground(page: Page) {
  const at = await area(page).evaluate((node) => {
    const box = node.getBoundingClientRect()
    const marks = [...node.querySelectorAll('[data-id]')].map((m) => m.getBoundingClientRect())
    for (let x = box.left + 40; x < box.right - 200; x += 20)
      for (let y = Math.max(100, box.top + 40); y < Math.min(innerHeight, box.bottom) - 80; y += 20)
        if (marks.every((m) => Math.hypot(m.x + m.width / 2 - x, m.y + m.height / 2 - y) > 60))
          return { x, y }
    return null
  })
  if (!at) throw new Error('no place without a mark')
  return at
}
const scale = (page: Page) => page.locator('.leaflet-control-scale-line')

test('the mouse moves the map, the wheel zooms it once it was pressed, and one button shows the whole again', async ({
  page,
}) => {
  const elsewhere: string[] = []
  page.on('request', (request) => {
    const { origin, protocol } = new URL(request.url())
    if (protocol.startsWith('http') && origin !== originOf(page)) elsewhere.push(request.url())
  })
  await signIn(page, '/coverage')
  const mark = await chosen(page)
  await area(page).evaluate((node) => node.scrollIntoView({ block: 'center' }))
  const start = await middle(mark)
  const whole = await scale(page).textContent()
  const free = await ground(page)

  const top = await page.evaluate(() => scrollY)
  await page.mouse.move(free.x, free.y)
  await page.mouse.wheel(0, 100)
  await expect.poll(() => page.evaluate(() => scrollY)).toBe(top + 100)
  await expect(scale(page)).toHaveText(whole ?? '')
  await page.evaluate((y) => scrollTo(0, y), top)

  await page.mouse.down()
  await page.mouse.move(free.x + 60, free.y - 30, { steps: 4 })
  // Held still, so that it does not glide on.
  await page.waitForTimeout(300)
  await page.mouse.up()
  await expect.poll(async () => Math.round((await middle(mark)).x - start.x)).toBe(60)
  expect(Math.round((await middle(mark)).y - start.y)).toBe(-30)

  await page.mouse.wheel(0, -300)
  await expect(scale(page)).not.toHaveText(whole ?? '')
  expect(await page.evaluate(() => scrollY)).toBe(top)

  await page.getByRole('button', { name: 'Whole area' }).click()
  await expect(scale(page)).toHaveText(whole ?? '')
  await expect.poll(async () => Math.round((await middle(mark)).x - start.x)).toBe(0)
  expect(elsewhere).toEqual([])
})

test('keys move and zoom the map, and on a mark they walk and do not move it', async ({ page }) => {
  await signIn(page, '/coverage')
  const mark = await chosen(page)
  await area(page).evaluate((node) => node.scrollIntoView({ block: 'center' }))
  const whole = await scale(page).textContent()
  const start = await middle(mark)
  await area(page).focus()
  await page.keyboard.press('ArrowRight')
  await expect.poll(async () => Math.round((await middle(mark)).x - start.x)).toBe(-80)
  await page.keyboard.press('+')
  await expect(scale(page)).not.toHaveText(whole ?? '')
  await page.keyboard.press('-')
  await expect(scale(page)).toHaveText(whole ?? '')

  await page.keyboard.press('Tab')
  await expect(mark).toBeFocused()
  const before = await middle(mark)
  const name = await mark.getAttribute('aria-label')
  const at = page.locator(`[data-mark="${await mark.getAttribute('data-mark')}"]`)
  await page.keyboard.press('ArrowDown')
  await expect
    .poll(() => page.evaluate(() => document.activeElement?.getAttribute('aria-label')))
    .not.toBe(name)
  // What was left may have gone into a cluster; where it is drawn, it is where it was.
  if (await at.count()) expect(await middle(at)).toEqual(before)
  await page.keyboard.press('+')
  await expect(scale(page)).not.toHaveText(whole ?? '')

  // A cluster that falls apart under the focus leaves it to what is there then.
  await page.getByRole('button', { name: 'Whole area' }).click()
  await expect(scale(page)).toHaveText(whole ?? '')
  const cluster = page.locator('[data-cluster]').first()
  const was = await cluster.getAttribute('aria-label')
  await cluster.focus()
  for (let n = 0; n < 4; n++) await page.keyboard.press('+')
  await expect.poll(() => page.evaluate(() => document.activeElement?.hasAttribute('data-id'))).toBe(true)
  expect(await page.evaluate(() => document.activeElement?.getAttribute('aria-label'))).not.toBe(was)
})

test('a cluster says what it holds, and opens by Enter and by a press', async ({ page }) => {
  await signIn(page, '/coverage')
  const clusters = page.locator('[data-cluster]')
  await expect(clusters.first()).toBeVisible()
  const names = await clusters.evaluateAll((all) => all.map((one) => one.getAttribute('aria-label') ?? ''))
  for (const name of names) expect(name).toMatch(/^\d+ (zone|station)s?[, ].*Comes closer\.$/)
  expect(names.some((name) => /\d+ without a full rig in time/.test(name))).toBe(true)

  // Each zone is on the map once, alone or in a cluster.
  const rows = Number.parseInt((await page.locator('#rows').textContent()) ?? '', 10)
  const held = names.reduce((sum, name) => sum + Number(/^(\d+) zone/.exec(name)?.[1] ?? 0), 0)
  const alone = await page
    .locator('[data-mark]')
    .evaluateAll(
      (all) =>
        all.filter((one) => /: (Reached|No full rig)/.test(one.getAttribute('aria-label') ?? '')).length,
    )
  expect(held + alone).toBe(rows)

  const before = await scale(page).textContent()
  const first = clusters.first()
  const gone = (await first.getAttribute('data-cluster')) ?? ''
  await first.focus()
  await page.keyboard.press('Enter')
  await expect(scale(page)).not.toHaveText(before ?? '')
  // The focus goes to what came out of it.
  await expect.poll(() => page.evaluate(() => document.activeElement?.hasAttribute('data-id'))).toBe(true)
  await page.getByRole('button', { name: 'Whole area' }).click()
  await expect(scale(page)).toHaveText(before ?? '')
  const again = page.locator(`[data-cluster="${gone}"]`)
  await again.scrollIntoViewIfNeeded()
  const place = await middle(again.locator('.hit'))
  await page.mouse.click(place.x, place.y)
  await expect(scale(page)).not.toHaveText(before ?? '')

  // Whoever listens to the page presses without a place.
  const other = page.locator('[data-mark][aria-pressed="false"]').first()
  const id = await other.getAttribute('data-mark')
  await other.dispatchEvent('click')
  await expect(page.locator(`[data-mark="${id}"]`)).toHaveAttribute('aria-pressed', 'true')
})

test('without the part that draws it, the list is still there and says so', async ({ page }) => {
  await page.route('**/assets/AreaMap-*', (route) => route.abort())
  await signIn(page, '/coverage')
  await expect(page.getByText('The map did not come. The list says the same', { exact: false })).toBeVisible()
  await expect(page.locator('.beside li[data-row]').first()).toBeVisible()
})

test.describe('on a phone', () => {
  test.use({ viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true })
  test('one finger scrolls past the map until it was pressed, two always zoom it', async ({ page }) => {
    await signIn(page, '/coverage')
    await expect(page.locator('[data-mark]').first()).toBeVisible()
    await area(page).evaluate((node) => node.scrollIntoView({ block: 'center' }))
    const whole = await scale(page).textContent()
    const fingers = await page.context().newCDPSession(page)
    const { x, y } = await ground(page)
    const swipe = async () => {
      const touch = (type: 'touchStart' | 'touchMove' | 'touchEnd', at?: number) =>
        fingers.send('Input.dispatchTouchEvent', {
          type,
          touchPoints: at === undefined ? [] : [{ x, y: at }],
        })
      await touch('touchStart', y)
      for (let moved = 10; moved <= 100; moved += 10) await touch('touchMove', y - moved)
      // Held still, so that nothing glides on.
      await page.waitForTimeout(300)
      await touch('touchEnd')
    }
    const scrolled = () => page.evaluate(() => scrollY)
    const offset = () => page.locator('.leaflet-map-pane').evaluate((pane) => pane.style.transform)
    const start = [await scrolled(), await offset()] as const

    await swipe()
    await expect.poll(scrolled).toBeGreaterThan(start[0])
    expect(await offset()).toBe(start[1])
    await page.evaluate((top) => scrollTo(0, top), start[0])

    await page.touchscreen.tap(x, y)
    await expect(area(page)).toBeFocused()
    await swipe()
    await expect.poll(offset).not.toBe(start[1])
    expect(await scrolled()).toBe(start[0])
    await fingers.send('Input.synthesizePinchGesture', {
      ...{ x, y, scaleFactor: 2, gestureSourceType: 'touch' as const },
    })
    await expect(scale(page)).not.toHaveText(whole ?? '')
  })
})

const LINES = {
  type: 'FeatureCollection',
  features: [
    {
      type: 'Feature',
      properties: {},
      geometry: {
        type: 'Polygon',
        coordinates: [
          [
            [-108.7, 41.9],
            [-108.1, 41.9],
            [-108.1, 42.6],
            [-108.7, 42.6],
            [-108.7, 41.9],
          ],
        ],
      },
    },
    {
      type: 'Feature',
      properties: {},
      geometry: {
        type: 'LineString',
        coordinates: [
          [-108.6, 42],
          [-108.2, 42.4],
        ],
      },
    },
  ],
}

test('boundaries from a file are drawn beneath the marks, kept in this browser, and taken away', async ({
  page,
}) => {
  await signIn(page, '/coverage')
  const opener = page.getByText('Show boundaries from a file (GeoJSON)…')
  await opener.click()
  const choose = page.getByLabel(/^Choose a file of boundaries or roads/).locator('input[type=file]')
  const give = (text: string) =>
    choose.setInputFiles({
      name: 'county.geojson',
      mimeType: 'application/geo+json',
      buffer: Buffer.from(text),
    })
  await give('not a map')
  await expect(page.getByRole('alert')).toContainText('It is no GeoJSON')
  await give(JSON.stringify(LINES).replaceAll(/\[(-108[\d.]*),([\d.]+)\]/g, '[$2,$1]'))
  await expect(page.getByRole('alert')).toContainText('Latitude and longitude have changed places')
  await expect(page.locator('path.own')).toHaveCount(0)

  await give(JSON.stringify(LINES))
  const told = page.getByText(/^Lines from “county.geojson”: 1 area, dashed, and 1 line, solid/)
  await expect(told).toBeFocused()
  await expect(told).toContainText('Kept in this browser alone, until you sign out')
  const drawn = async () => {
    await expect(page.locator('path.own')).toHaveCount(2)
    const styles = await page.locator('path.own').evaluateAll((all) =>
      all.map((one) => ({
        dashed: getComputedStyle(one).strokeDasharray !== 'none',
        fill: getComputedStyle(one).fill,
      })),
    )
    expect(styles).toEqual([
      { dashed: true, fill: 'none' },
      { dashed: false, fill: 'none' },
    ])
  }
  await drawn()
  const again = async () => {
    await page.reload()
    await expect(page.locator('[data-mark]').first()).toBeVisible({ timeout: 30_000 })
  }
  await again()
  await expect(told).toBeVisible()
  await drawn()
  await page.getByRole('button', { name: 'Take it away' }).click()
  await expect(opener).toBeFocused()
  await expect(page.locator('path.own')).toHaveCount(0)
  await again()
  await expect(opener).toBeVisible()
  await expect(told).toHaveCount(0)
})

test('boundaries are shown to everybody of the agency, drawn after the own ones, and taken off again with a way back', async ({
  page,
}) => {
  await signIn(page, '/coverage')
  const opener = page.getByText('Show boundaries from a file (GeoJSON)…')
  const own = page.locator('path.own')
  const agency = page.getByText(/^The agency’s own lines, from “county.geojson”: 1 area, dashed, and 1 line/)
  const give = async (lines: object, name: string) => {
    await opener.click()
    await page
      .getByLabel(/^Choose a file of boundaries or roads/)
      .locator('input[type=file]')
      .setInputFiles({
        name,
        mimeType: 'application/geo+json',
        buffer: Buffer.from(JSON.stringify(lines)),
      })
  }
  const again = async () => {
    await page.reload()
    await expect(page.locator('[data-mark]').first()).toBeVisible({ timeout: 30_000 })
  }
  await give(LINES, 'county.geojson')
  await page.getByRole('button', { name: 'Show them to everybody of the agency' }).click()
  await expect(agency).toBeFocused()
  await expect(agency).toContainText('everybody of the agency has them on the map')
  await expect(own).toHaveCount(2)
  await again()
  await expect(agency).toBeVisible()
  await expect(own).toHaveCount(2)

  await give({ ...LINES, features: LINES.features.slice(1) }, 'roads.geojson')
  await expect(page.getByText(/^Lines from “roads.geojson”: 0 areas/)).toContainText(
    'The agency’s own, from “county.geojson”, are not drawn meanwhile.',
  )
  await expect(own).toHaveCount(1)
  await page.getByRole('button', { name: 'Take mine away, and draw the agency’s' }).click()
  await expect(agency).toBeFocused()
  await expect(own).toHaveCount(2)

  const off = page.getByRole('button', { name: 'Take them off everybody’s map' })
  await off.click()
  await expect(opener).toBeFocused()
  await expect(own).toHaveCount(0)
  await page.getByRole('button', { name: 'Undo' }).click()
  await expect(own).toHaveCount(2)
  await off.click()
  await expect(own).toHaveCount(0)
})
