import { answer, signedIn, signIn, visit } from './helpers'
import { looks, readable } from './readable'
import { expect, test } from './test'

const SIZES = [
  { name: 'desk', width: 1440, height: 900 },
  { name: 'phone', width: 390, height: 844 },
]
/** The board, the swaps and the bench are in the walk over every screen. */
const PATHS = ['/coverage', '/coverage?reach=none&sets=3', '/coverage/zones', '/swaps/plan']
for (const { size, scheme } of looks('desk')) {
  test(`coverage, zones and plan are readable, on a ${size.name}, ${scheme}`, async ({ page }) => {
    test.setTimeout(90_000)
    await page.setViewportSize(size)
    await page.emulateMedia({ colorScheme: scheme, reducedMotion: 'reduce' })
    await signedIn(page)
    for (const path of PATHS) {
      await visit(page, path)
      await readable(page, path, size.name === 'phone')
    }
  })
}

for (const size of SIZES) {
  test(`coverage comes onto the board without moving it, on a ${size.name}`, async ({ page }) => {
    await page.setViewportSize(size)
    await signIn(page, '/register')
    let let_go = () => {}
    const held = new Promise<void>((resolve) => (let_go = resolve))
    await page.route('**/v1/coverage', async (route) => {
      await held
      await route.continue()
    })
    await page.goto('/')
    const filters = page.getByRole('form', { name: 'Filter the board' })
    await expect(filters).toBeVisible()
    const before = await filters.boundingBox()
    let_go()
    const line = page.getByRole('link', { name: /Full rigs reach/ })
    await expect(line).toBeVisible()
    expect(await filters.boundingBox()).toEqual(before)
    await line.click()
    await expect(page.getByRole('heading', { level: 1 })).toContainText('Full rigs reach')
  })
}

test('every number opens its zones, by the address', async ({ page }) => {
  await signIn(page, '/coverage')
  const lead = page.locator('.lead')
  const without = lead.getByRole('link', { name: /zones?$/ })
  const count = Number.parseInt((await without.textContent()) ?? '', 10)
  await without.click()
  await expect(page).toHaveURL(/reach=none/)
  await expect(page.locator('.beside li[data-row]')).toHaveCount(count)
  await expect(page.locator('#rows')).toBeFocused()
  await page.reload()
  await expect(page.locator('.beside li[data-row]')).toHaveCount(count)
  await expect(page.getByText('Only: No full rig in time')).toBeVisible()
  await page.getByRole('link', { name: 'Show all zones' }).click()
  await expect(page).not.toHaveURL(/reach/)
})

test('arrow keys walk over the map and the list keeps step', async ({ page }) => {
  await signIn(page, '/coverage')
  // What nobody reaches is the first of the list, and the first that Tab comes to.
  const first = page.locator('.beside li[data-row]').first()
  await expect(first).toContainText('No full rig in time')
  const stop = page.locator('[data-id][tabindex="0"]')
  await expect(stop).toHaveAttribute('aria-label', /No full rig in time|[1-9]\d* without a full rig/)
  await stop.focus()
  await expect(page.locator('[data-id][tabindex="0"]')).toHaveCount(1)
  const at = () => page.locator('.beside [aria-current="true"] strong').textContent()
  const focused = () =>
    page.evaluate(() => {
      const { activeElement: here } = document
      return { name: here?.getAttribute('aria-label') ?? '', mark: here?.hasAttribute('data-mark') }
    })
  const seen = new Set<string>()
  let marks = 0
  for (const key of ['ArrowDown', 'ArrowRight', 'ArrowUp', 'ArrowLeft', 'ArrowDown', 'ArrowDown']) {
    await page.keyboard.press(key)
    const { name, mark } = await focused()
    expect(name).not.toBe('')
    seen.add(name)
    // A cluster is walked to as well, and nothing is chosen by that.
    if (!mark) continue
    marks += 1
    expect(name.startsWith(`${await at()}:`)).toBe(true)
  }
  expect(seen.size).toBeGreaterThan(1)
  expect(marks).toBeGreaterThan(1)
  await expect(page).toHaveURL(/pick=/)
})

test('a press on the map takes the nearest mark, a row marks the map', async ({ page }) => {
  await signIn(page, '/coverage')
  const row = page.locator('.beside li[data-row]').nth(3)
  const name = await row.locator('strong').textContent()
  await row.getByRole('button').click()
  const mark = page.locator('[data-mark][aria-pressed="true"]')
  await expect(mark).toHaveAttribute('aria-label', new RegExp(`^${name}:`))
  const other = page.locator('[data-mark]').nth(0)
  const box = await other.boundingBox()
  await page.mouse.click((box?.x ?? 0) + (box?.width ?? 0) / 2, (box?.y ?? 0) + (box?.height ?? 0) / 2)
  await expect(page.locator('.beside [aria-current="true"]')).toHaveCount(1)
})

test('what if: other minutes stand in the address and leave the record alone', async ({ page }) => {
  await signIn(page, '/coverage')
  const head = page.getByRole('heading', { level: 1 })
  await expect(head).toContainText('Full rigs reach')
  const before = await head.textContent()
  await page.getByLabel('Target, minutes of travel').fill('3')
  await page.getByLabel('Target, minutes of travel').press('Enter')
  await expect(page).toHaveURL(/minutes=3/)
  await expect(head).toContainText('within 3 minutes')
  await expect(page.getByText(/The agency’s own are/)).toBeVisible()
  await page.getByRole('link', { name: 'Back to those' }).click()
  await expect(head).toHaveText(before ?? '')
})

test('a file of zones is read, set after confirmation, and undone', async ({ page }) => {
  await signIn(page, '/coverage/zones')
  const head = page.getByRole('heading', { level: 1 })
  await expect(head).toContainText('demand zone')
  const before = (await head.textContent()) ?? ''
  const csv = 'name,latitude,longitude,weight\nNew place,42.2,-108.3,10\nNowhere,95,-108,3\n'
  await page
    .locator('input[type=file]')
    .first()
    .setInputFiles({ name: 'counts.csv', mimeType: 'text/csv', buffer: Buffer.from(csv) })
  await expect(page.getByRole('heading', { name: '1 line refused' })).toBeVisible()
  await expect(page.getByText('Line 3', { exact: false })).toBeVisible()
  await expect(head).toHaveText(before)
  await page.getByRole('button', { name: /^Replace/ }).click()
  await page
    .getByRole('dialog')
    .getByRole('button', { name: /^Replace/ })
    .click()
  await expect(head).toHaveText('1 demand zone')
  await page.getByRole('button', { name: 'Undo' }).click()
  await expect(head).toHaveText(before)
})

test('a plan is started as one act, and taken back', async ({ page }) => {
  await signIn(page, '/swaps/plan?by=rigs')
  const start = page.getByRole('button', { name: /^Start th/ })
  await expect(start).toBeVisible()
  const all = await page.locator('.parts input[type=checkbox]').count()
  for (let i = 1; i < all; i++) await page.locator('.parts input[type=checkbox]').nth(i).uncheck()
  // "Start this swap", or "Start these 3 swaps".
  const count = Number(/\d+/.exec((await start.textContent()) ?? '')?.[0] ?? 1)
  const open = async () =>
    (await answer<{ items: { state: string }[] }>(page, '/v1/swaps?limit=500')).items.filter(
      (s) => s.state === 'open',
    ).length
  const before = await open()
  await start.click()
  await expect(page.getByRole('heading', { name: 'Started' })).toBeFocused()
  expect(await open()).toBe(before + count)
  await page.getByRole('button', { name: 'Undo' }).click()
  await expect(page.getByText(/^Ended again: /)).toBeVisible()
  expect(await open()).toBe(before)
})

test('a plan that is no longer true starts nothing and says why', async ({ page }) => {
  await signIn(page, '/swaps/plan?by=rigs')
  const start = page.getByRole('button', { name: /^Start th/ })
  await expect(start).toBeVisible()
  await page.route('**/v1/commands', async (route) => {
    const body = route.request().postDataJSON() as {
      commands: { body: { moves?: { piece_rev: number }[] } }[]
    }
    for (const move of body.commands[0]?.body.moves ?? []) move.piece_rev -= 1
    await route.continue({ postData: JSON.stringify(body) })
  })
  await start.click()
  await expect(page.getByText('Nothing was started: it changed after this was planned')).toBeVisible()
  await page.unroute('**/v1/commands')
  await page.locator('.conflict').getByRole('button', { name: 'Plan again' }).click()
  await expect(start).toBeVisible()
  await expect(page.getByRole('heading', { level: 1 })).toBeFocused()
  await page.goto('/outbox')
  await expect(page.getByRole('heading', { level: 1 })).toContainText('Nothing waits')
})

test('the bench is in the order of what comes back, and by age without a signal', async ({ page }) => {
  await signIn(page, '/bench')
  await expect(page.getByText('Repairs that restore a rig first', { exact: false })).toBeVisible()
  const order = await answer<{ items: { ticket: string; words: string }[] }>(page, '/v1/bench-order')
  const rows = page.locator('li.ticket')
  await expect(rows).toHaveCount(order.items.length)
  await expect(rows.first().getByRole('link')).toHaveAttribute('href', `/bench/${order.items[0]?.ticket}`)
  await expect(rows.first()).toContainText(order.items[0]?.words ?? '?')
  await page.route('**/v1/bench-order', (route) => route.abort())
  await page.reload()
  await expect(page.getByText('By age, longest wait first', { exact: false })).toBeVisible()
  const ages = await page
    .locator('li.ticket a[href^="/bench/"]')
    .evaluateAll((links) => links.map((a) => a.getAttribute('href')?.slice(7)))
  expect(ages).toHaveLength(order.items.length)
  expect(ages).not.toEqual(order.items.map((i) => i.ticket))
})
