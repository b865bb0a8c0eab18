// No page is wider than its screen: a tablet held either way, a small laptop, a phone, where nothing is too small for a thumb either.
import type { OperatingCard, Piece, Rig, Ticket } from '../src/api/types'
import { feed, records, signedIn, visit } from './helpers'
import { tooSmall } from './readable'
import { expect, test } from './test'

const SIZES = [
  { width: 390, height: 844 },
  { width: 768, height: 1024 },
  { width: 1024, height: 768 },
  { width: 1150, height: 800 },
]

test('no page scrolls sideways, on a phone nothing is too small for a thumb, and the account menu stays on the screen', async ({
  page,
}) => {
  test.setTimeout(180_000)
  await page.setViewportSize(SIZES[1] ?? { width: 768, height: 1024 })
  await signedIn(page)
  const changes = await feed(page)
  const rig = records<Rig>(changes, 'rig')[0]?.id ?? ''
  const piece = records<Piece>(changes, 'piece').find((one) => one.state === 'in_service')?.id ?? ''
  const model = records<OperatingCard>(changes, 'operating_card')[0]?.id ?? ''
  const ticket = records<Ticket>(changes, 'ticket')[0]?.id ?? ''
  const paths = [
    ...'/ /mine /swaps /swaps/plan /bench /register /register/import /labels /outbox /devices'.split(' '),
    ...'/past /reserves /reliability /coverage /coverage/zones /calendar /calendar/plan /find'.split(' '),
    ...'/programme /programme/grades /programme/policy /programme/limits /programme/people'.split(' '),
    ...'/programme/checks /programme/checks/starters /programme/checks/new'.split(' '),
    ...'/programme/rigs /programme/places /programme/dispatch /due'.split(' '),
    ...'/programme/models /programme/couplings /programme/sets /programme/releases /pieces/new'.split(' '),
    ...['/programme/cards', `/cards/${model}`, `/cards/${model}/draft`, '/due?of=all'],
    ...[`/rigs/${rig}`, `/rigs/${rig}/swap`, `/rigs/${rig}/use`, `/rigs/${rig}/past`],
    ...[`/rigs/${rig}/check`, `/rigs/${rig}/check/sheet`, `/pieces/${piece}/check`],
    ...[`/pieces/${piece}`, `/pieces/${piece}/report`, `/pieces/${piece}/ticket`, `/bench/${ticket}`],
  ]
  const wide: string[] = []
  for (const path of paths) {
    await visit(page, path)
    for (const size of SIZES) {
      await page.setViewportSize(size)
      const over = await page.evaluate(() => {
        const root = document.documentElement
        const menu = document.querySelector('header summary')?.getBoundingClientRect()
        return Math.max(root.scrollWidth - root.clientWidth, (menu?.right ?? 0) - root.clientWidth)
      })
      if (over > 0) wide.push(`${path} at ${size.width}: ${over} px too wide`)
      if (size.width > 400) continue
      for (const small of await tooSmall(page)) wide.push(`${path}: too small for a thumb: ${small}`)
    }
  }
  expect(wide).toEqual([])
})
