// Every screen on a phone, a tablet and a laptop held either way, a desk and a wall: no page is wider than its screen, no word is broken,
// Find and Scan are a tap away, and on a phone nothing is too small for a thumb.
import type { Page } from '@playwright/test'
import type { Piece, Use } from '../src/api/types'
import { ROUTES } from '../src/shell/routes'
import { EMAIL, feed, originOf, PASSWORD, records, signedIn, visit } from './helpers'
import { tooSmall } from './readable'
import { expect, test } from './test'

const SIZES = [
  { width: 390, height: 844 },
  { width: 844, height: 390 },
  { width: 768, height: 1024 },
  { width: 1024, height: 768 },
  { width: 1280, height: 800 },
  { width: 1440, height: 900 },
  { width: 1920, height: 1080 },
]
const TABLET = 1320

/** What is wrong with the page as wide as it is; runs in it. */
function faults(tablet: boolean): string[] {
  const root = document.documentElement
  const said: string[] = []
  const menu = document.querySelector('header summary')?.getBoundingClientRect()
  const over = Math.max(root.scrollWidth, menu?.right ?? 0) - root.clientWidth
  if (over > 0) {
    const beyond = [...document.querySelectorAll('body *')].filter(
      (one) => one.getBoundingClientRect().right > root.clientWidth + 1,
    )
    const last = beyond.at(-1)
    said.push(`${over} px too wide: ${last?.outerHTML.slice(0, 200)}`)
  }

  const bar = document.querySelector('header nav')
  for (const path of bar ? ['/scan', '/find'] : []) {
    const inBar = document.querySelector(`header nav a[href="${path}"]`)?.checkVisibility()
    const box = path === '/find' && document.querySelector('header input')?.checkVisibility()
    const entry = document.querySelector(`.menu a[href="${path}"]`)?.parentElement
    const inMenu = !tablet && entry && getComputedStyle(entry).display !== 'none'
    if (!inBar && !box && !inMenu) said.push(`no way to ${path}`)
  }

  const words = new Set<string>()
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT)
  const range = document.createRange()
  while (texts.nextNode()) {
    const node = texts.currentNode as Text
    range.selectNodeContents(node)
    if (range.getClientRects().length < 2) continue
    const parent = node.parentElement
    // Left out: what only a screen reader hears, as the heading of a table that is stacked.
    const heard = getComputedStyle(parent?.closest('thead') ?? document.body).clipPath !== 'none'
    if (heard || !parent?.checkVisibility() || parent.closest('.hidden, svg, pre')) continue
    // What is longer than any word, an address or a hash, may be broken.
    for (const { 0: token, index: at } of node.data.matchAll(/\S+/g)) {
      if (token.length > 24 || /[@/_]/.test(token)) continue
      for (const { 0: word, index } of token.matchAll(/\p{L}{2,}/gu)) {
        range.setStart(node, at + index)
        range.setEnd(node, at + index + word.length)
        const lines = new Set([...range.getClientRects()].map((line) => Math.round(line.top)))
        if (lines.size > 1) words.add(word)
      }
    }
  }
  if (words.size) said.push(`broken: ${[...words].slice(0, 4).join(', ')}`)
  return said
}

async function narrowAndWide(page: Page, paths: string[]): Promise<string[]> {
  const wrong: string[] = []
  for (const path of paths) {
    await visit(page, path)
    for (const size of SIZES) {
      await page.setViewportSize(size)
      // What draws itself by its own width does so in the next frame.
      await page.evaluate(
        () => new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn))),
      )
      const found = await page.evaluate(faults, size.width <= TABLET)
      if (size.width < 400)
        found.push(...(await tooSmall(page)).map((small) => `too small for a thumb: ${small}`))
      wrong.push(...found.map((one) => `${path} at ${size.width}: ${one}`))
    }
  }
  return wrong
}

test('every screen that has an address, from a phone to a wall', async ({ page }) => {
  test.setTimeout(600_000)
  await page.setViewportSize(SIZES[2] ?? { width: 768, height: 1024 })
  await signedIn(page)
  const changes = await feed(page)
  const first = (kind: string) => records<{ id: string }>(changes, kind)[0]?.id ?? 'none'
  const sound = records<Piece>(changes, 'piece').find((one) => one.state === 'in_service')?.id ?? 'none'
  /** What an address is about, by what it begins with. */
  const ABOUT: Record<string, string> = {
    rigs: first('rig'),
    pieces: sound,
    bench: first('ticket'),
    notices: first('notice'),
    checks: first('check_plan'),
    rollouts: first('rollout'),
    trials: first('field_trial'),
    cards: first('operating_card'),
  }
  const all = Object.values(ROUTES).map((path) =>
    path.replace(':tag', 'ZZ-0000').replace(':id', ABOUT[/(\w+)\/:id/.exec(path)?.[1] ?? ''] ?? 'none'),
  )
  const use = records<Use>(changes, 'use').find((one) => one.pieces.length)
  const out = records<Piece>(changes, 'piece').find((one) => one.state === 'out_of_service')
  const more = [
    ...['/programme/checks/new', '/due?of=all', '/past?view=months', '/nowhere', `/pieces/${out?.id}`],
    ...(use ? [`/rigs/${use.rig}/use?after=${use.id}`] : []),
  ]
  // The county has no safety notice and has told nobody of a change, until another test does; whatever else has an address has a record.
  expect(all.filter((path) => !/^\/(notices|alerts)\/none$/.test(path) && /\/none(\/|$)/.test(path))).toEqual(
    [],
  )
  expect(await narrowAndWide(page, [...all, ...more])).toEqual([])
})

/** Where each role begins, and what it does there. */
const BEGINS = {
  crew: ['/mine', '/outbox'],
  officer: ['/mine', '/handover'],
  shop: ['/bench', '/calendar'],
  chief: ['/', '/safety'],
  tools: ['/register', '/programme'],
}
for (const [who, paths] of Object.entries(BEGINS)) {
  test(`what ${who} begins with, from a phone to a wall`, async ({ page }) => {
    test.setTimeout(180_000)
    await page.setViewportSize(SIZES[2] ?? { width: 768, height: 1024 })
    const origin = originOf(page)
    const data = { email: EMAIL.replace(/^[^@]+/, who), password: PASSWORD, browser: true }
    const reply = await page.request.post(`${origin}/v1/session`, { headers: { origin }, data })
    expect(reply.status(), await reply.text()).toBe(200)
    expect(await narrowAndWide(page, paths)).toEqual([])
  })
}
