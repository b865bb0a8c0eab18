import { AxeBuilder } from '@axe-core/playwright'
import { expect, test } from '@playwright/test'
import { feed, records, signIn } from './helpers'
import type { Capability, Piece, Ticket } from '../src/api/types'

const SIZES = [
  { name: 'desk', width: 1440, height: 900 },
  { name: 'phone', width: 390, height: 844 },
]

for (const size of SIZES) {
  for (const scheme of ['light', 'dark'] as const) {
    test(`every screen is readable, on a ${size.name}, ${scheme}`, async ({ page }) => {
      test.setTimeout(120_000)
      await page.setViewportSize(size)
      await page.emulateMedia({ colorScheme: scheme, reducedMotion: 'reduce' })
      await page.goto('/')
      await expect(page.getByLabel('E-mail')).toBeVisible()
      await check(page, 'sign-in', size.name === 'phone')
      await signIn(page)
      const changes = await feed(page)
      const limited = records<Capability>(changes, 'capability').find((c) => c.level !== 'full')
      const piece = records<Piece>(changes, 'piece').find((p) => p.state === 'out_of_service')
      const ticket = records<Ticket>(changes, 'ticket').find((t) => t.state !== 'closed')
      const paths = ['/', '/swaps', '/bench', '/register', '/register/import', '/find', '/nowhere']
      if (limited) paths.push(`/rigs/${limited.id}`, `/rigs/${limited.id}/swap`)
      if (piece) paths.push(`/pieces/${piece.id}`, `/pieces/${piece.id}/report`, `/pieces/${piece.id}/ticket`)
      if (ticket) paths.push(`/bench/${ticket.id}`)
      for (const path of paths) {
        await page.goto(path)
        await expect(page.getByRole('heading', { level: 1 })).toBeVisible()
        await page.waitForTimeout(150)
        await check(page, path, size.name === 'phone')
      }
    })
  }
}

async function check(page: import('@playwright/test').Page, name: string, phone: boolean) {
  const found = await new AxeBuilder({ page })
    .withTags(['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa'])
    .analyze()
  const words = found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(' ')).join(', ')}`)
  expect.soft(words, name).toEqual([])
  const sideways = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)
  expect.soft(sideways, `${name} scrolls sideways`).toBeLessThanOrEqual(0)
  if (!phone) return
  // Links inside a running sentence are exempt; everything else must be as high as a thumb.
  const small = await page.evaluate(() =>
    [
      ...document.querySelectorAll<HTMLElement>(
        'button, a.button, a.tap, nav a, select, summary, input:not([type=checkbox], [type=radio], [type=file])',
      ),
    ]
      .filter((e) => e.checkVisibility() && !e.closest('.hidden, .skip'))
      .map((e) => ({
        text: e.innerText?.slice(0, 30) || e.tagName,
        height: e.getBoundingClientRect().height,
      }))
      .filter((e) => e.height < 47.5)
      .map((e) => `${e.text} ${e.height}`),
  )
  expect.soft(small, `${name}: too small for a thumb`).toEqual([])
}

test('the skip link and the headings carry the keyboard', async ({ page }) => {
  await signIn(page)
  await page.reload()
  await expect(page.getByRole('heading', { level: 1 })).toBeVisible()
  await page.keyboard.press('Tab')
  await expect(page.getByText('Skip to the content')).toBeFocused()
  await page.keyboard.press('Enter')
  await expect(page.locator('#main')).toBeFocused()
  await page.getByRole('navigation', { name: 'Main' }).getByRole('link', { name: 'Bench' }).click()
  await expect(page.getByRole('heading', { level: 1 })).toBeFocused()
})
