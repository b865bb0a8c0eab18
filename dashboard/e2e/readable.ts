// What every screen has to pass, whatever is on it: axe, no sideways scrolling, and on a phone nothing too small for a thumb.
import { AxeBuilder } from '@axe-core/playwright'
import { expect, type Page } from '@playwright/test'

const DESK = { name: 'desk', width: 1440, height: 900 }
const PHONE = { name: 'phone', width: 390, height: 844 }

/** The looks that a story's screens are tried in: the size that it is mostly used at; in `make nightly` both sizes in both schemes. */
export function looks(most: 'desk' | 'phone') {
  if (process.env['E2E_EVERY_LOOK'])
    return [DESK, PHONE].flatMap((size) => (['dark', 'light'] as const).map((scheme) => ({ size, scheme })))
  return [
    most === 'desk' ? ({ size: DESK, scheme: 'dark' } as const) : ({ size: PHONE, scheme: 'light' } as const),
  ]
}

export async function readable(page: Page, name: string, phone: boolean) {
  // A word that is still fading in has no contrast yet.
  await page.emulateMedia({ reducedMotion: 'reduce' })
  // No page has frames, which the other mode opens a page of its own for.
  const axe = new AxeBuilder({ page }).setLegacyMode(true)
  const tags = ['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa']
  // Of what passes nothing is told: to name each node of it takes longer than to judge it.
  const found = await axe
    .options({ runOnly: { type: 'tag', values: tags }, resultTypes: ['violations'] })
    .analyze()
  const words = found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(' ')).join(', ')}`)
  expect.soft(words, name).toEqual([])
  const sideways = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)
  expect.soft(sideways, `${name} scrolls sideways`).toBeLessThanOrEqual(0)
  if (phone) expect.soft(await tooSmall(page), `${name}: too small for a thumb`).toEqual([])
}

/** What is not as high as a thumb. */
export const tooSmall = (page: Page) =>
  // Links inside a running sentence are exempt; everything else must be as high as a thumb.
  page.evaluate(() =>
    [
      ...document.querySelectorAll<HTMLElement>(
        'button, a.button, a.tap, nav a, select, summary, label.button, input:not([type=checkbox], [type=radio], [type=file])',
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
