// What is printed: whose it is and of when on the first page, nothing of the screen's own bars, black on white also by night.
import type { Page } from '@playwright/test'
import type { OperatingCard, Piece, Rig } from '../src/api/types'
import { answer, feed, records, signedIn, visit } from './helpers'
import { pagesOfPdf } from './paper'
import { expect, test } from './test'

const bare = (text: string) => text.replace(/\s+/g, '')
/** So much stands on a page that is not blank: more than its head. */
const FULL_ENOUGH = 300

async function paper(page: Page, path: string, agency: string) {
  await page.emulateMedia({ media: 'screen', colorScheme: 'dark' })
  await visit(page, path)
  await expect(page.locator('main h1')).toBeVisible()
  await page.emulateMedia({ media: 'print', colorScheme: 'dark' })
  const faults = await page.evaluate(lookAtPaper)
  expect.soft(faults, `${path} on paper`).toEqual([])
  const title = (await page.locator('main h1').first().innerText()).slice(0, 24)
  const pages = pagesOfPdf(await page.pdf({ format: 'A4' }))
  const first = pages[0] ?? ''
  expect.soft(pages.length, `${path}: pages`).toBeGreaterThan(0)
  expect.soft(first.length, `${path}: the first page is not blank`).toBeGreaterThan(FULL_ENOUGH)
  expect.soft(first, `${path}: whose`).toContain(bare(agency))
  expect.soft(first, `${path}: what`).toContain(bare(title))
  expect.soft(first, `${path}: of when`).toMatch(/\d{1,2}[A-Z][a-z]{2}20\d\d,?\d\d:\d\d/)
}

/** Runs in the page: what would be wrong on paper. */
function lookAtPaper(): string[] {
  const shown = (e: Element) => (e as HTMLElement).checkVisibility() && !e.closest('.hidden, svg')
  const name = (e: Element) => `${e.tagName}.${e.className} ${(e.textContent ?? '').trim().slice(0, 30)}`
  const all = (what: string) => [...document.querySelectorAll(what)].filter(shown)
  const light = (colour: string) => {
    const [r = 0, g = 0, b = 0] = (colour.match(/[\d.]+/g) ?? []).map(Number)
    return (r * 299 + g * 587 + b * 114) / 1000
  }
  // A row of the map's list is a button without its looks, and what a dial is set to is part of what was worked out.
  const own = 'header.bar, nav[aria-label=Main], button:not(.entry), input:not(.dial *), select'
  const faults = all(own).map((e) => `of the screen: ${name(e)}`)
  faults.push(
    ...all('tr')
      .filter((e) => getComputedStyle(e).breakInside !== 'avoid')
      .map((e) => `may be cut: ${name(e)}`),
  )
  for (const e of all('body *')) {
    const words = [...e.childNodes].some((node) => node.nodeType === 3 && node.textContent?.trim())
    if (words && light(getComputedStyle(e).color) > 110) faults.push(`pale: ${name(e)}`)
    const { backgroundColor } = getComputedStyle(e)
    if (!/, 0\)$/.test(backgroundColor) && light(backgroundColor) < 200)
      faults.push(`dark ground: ${name(e)}`)
  }
  const wide = document.documentElement.scrollWidth - document.documentElement.clientWidth
  return [...new Set(faults)].slice(0, 12).concat(wide > 0 ? [`wider than the page by ${wide}`] : [])
}

test('each sheet says whose it is, what and of when, on white, without a blank page before it', async ({
  page,
}) => {
  test.setTimeout(300_000)
  // As wide as A4 leaves it.
  await page.setViewportSize({ width: 794, height: 1123 })
  await signedIn(page)
  const all = await feed(page)
  const rig = records<Rig>(all, 'rig').find((one) => one.in_service && one.duty === 'front_line')
  const piece = records<Piece>(all, 'piece').find(
    (one) => one.place.at === 'rig' && one.place.rig === rig?.id,
  )
  const card = records<OperatingCard>(all, 'operating_card').find((one) => one.text)
  const { name } = await answer<{ name: string }>(page, '/v1/agency')
  for (const path of [
    '/',
    `/rigs/${rig?.id}`,
    '/register?kind=cutter',
    `/pieces/${piece?.id}`,
    `/cards/${card?.id}`,
    '/bench',
    '/calendar',
    '/coverage',
    '/reserves',
    '/lives',
    '/safety',
    '/reliability',
    '/handover?of=all',
    '/past?view=months',
    '/past?view=council',
    `/rigs/${rig?.id}/check/sheet`,
  ])
    await test.step(path, () => paper(page, path, name))
})
