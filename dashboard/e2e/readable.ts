// What every screen has to pass, whatever is on it: axe, no sideways scrolling, and on a phone nothing too small for a thumb.
import { expect, type Page } from '@playwright/test'
import axe from 'axe-core'

const DESK = { name: 'desk', width: 1440, height: 900 }
const PHONE = { name: 'phone', width: 390, height: 844 }

const EVERY = Boolean(process.env['E2E_EVERY_LOOK'])

/** The sizes that a story is told at: those that it is mostly used at; both in `make nightly`. */
export function sizes(...most: ('desk' | 'phone')[]) {
  return [DESK, PHONE].filter(({ name }) => EVERY || most.some((one) => one === name))
}

/** The looks that a story's screens are tried in: at its sizes, each in one scheme; in `make nightly` both sizes in both schemes. */
export function looks(...most: ('desk' | 'phone')[]) {
  return sizes(...most).flatMap((size) => {
    const one = size === DESK ? ('dark' as const) : ('light' as const)
    return (EVERY ? (['dark', 'light'] as const) : [one]).map((scheme) => ({ size, scheme }))
  })
}

export async function readable(page: Page, name: string, phone: boolean) {
  // A word that is still fading in has no contrast yet.
  await page.emulateMedia({ reducedMotion: 'reduce' })
  const words = await violations(page)
  expect.soft(words, name).toEqual([])
  const sideways = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)
  expect.soft(sideways, `${name} scrolls sideways`).toBeLessThanOrEqual(0)
  if (phone) expect.soft(await tooSmall(page), `${name}: too small for a thumb`).toEqual([])
}

const RULES: axe.RunOptions = {
  runOnly: { type: 'tag', values: ['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa'] },
  // Of what passes nothing is told: to name each node of it takes longer than to judge it.
  resultTypes: ['violations'],
}

/** What axe finds in the page, which has no frames. It is put into a page once, as long as the page stays. */
async function violations(page: Page): Promise<string[]> {
  if (!(await page.evaluate(() => 'axe' in window))) await page.evaluate(axe.source)
  return page.evaluate(async (rules) => {
    const { violations } = await (window as unknown as { axe: typeof axe }).axe.run(document, rules)
    // What a bar covers half while the page stands so is measured whole: it is once the page is moved (24 by 24, WCAG 2.5.8).
    const covered = (selector: string) => {
      const node = document.querySelector(selector)
      const at = node?.getBoundingClientRect()
      if (!node || !at || at.width < 24 || at.height < 24) return false
      return [at.top + 1, at.bottom - 1].some((y) => {
        let over = document.elementFromPoint(at.left + at.width / 2, y)
        for (; over && !over.contains(node); over = over.parentElement)
          if (/fixed|sticky/.test(getComputedStyle(over).position)) return true
        return false
      })
    }
    return violations
      .map((v) => ({
        id: v.id,
        nodes: v.nodes.filter((n) => v.id !== 'target-size' || !covered(n.target.join(' '))),
      }))
      .filter((v) => v.nodes.length)
      .map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(' ')).join(', ')}`)
  }, RULES)
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
