// What an officer would sign: the verdict with its reason, the three answers apart, a level that is not shown beside a waiting
// act, stand-ins that serve, and cautions.
import { answer, command, feed, fullRig, giveBack, records, signedIn, signIn, visit } from './helpers'
import { sizes } from './readable'
import { expect, test } from './test'
import type { Defect, Kind, Piece, PieceStanding, Reason, Remedy, RigStanding } from '../src/api/types'

const WORDS: Record<PieceStanding['verdict'], RegExp> = {
  no: /^No: /,
  not_on_this_rig: /^No on this rig: /,
  cannot_be_confirmed: /^Cannot be confirmed: /,
  yes_with_limit: /^Yes, with limit: /,
  yes: /^Yes, (by its last (check|service) on|records say)/,
}

/** What a screen says of a reason: of a usable defect what the crew found, not its limit as if that had been found. */
function said(reason: Reason | undefined, defects: Defect[]): string {
  const found = defects.find((one) => one.piece === reason?.piece && one.state === 'open' && one.limit)
  if (reason?.code === 'open-defect' && found) return found.what
  return (reason?.words.split(/\d{4}-/)[0] ?? '?').trim()
}

/** Tells a story at the size that it is mostly used at; at both in `make nightly`. */
function at(most: 'desk' | 'phone', tell: () => void) {
  for (const { name, width, height } of sizes(most))
    test.describe(`on a ${name}`, () => {
      test.use({ viewport: { width, height } })
      tell()
    })
}

at('phone', () => {
  test('the verdict of a piece stands first with its reason, and in service alone is never a yes', async ({
    page,
  }) => {
    await signedIn(page)
    const changes = await feed(page)
    const standings = records<PieceStanding>(changes, 'piece_standing')
    const defects = records<Defect>(changes, 'defect')
    const pieces = new Map(records<Piece>(changes, 'piece').map((p) => [p.id, p]))
    for (const verdict of Object.keys(WORDS) as PieceStanding['verdict'][]) {
      const one = standings.find((s) => s.verdict === verdict && pieces.get(s.id)?.state === 'in_service')
      if (!one) continue
      await visit(page, `/pieces/${one.id}`)
      const sheet = page.getByRole('region', { name: 'May I use it?' })
      await expect(sheet.getByText(WORDS[verdict])).toBeVisible()
      if (verdict !== 'yes') {
        const about = said(one.reasons[0], defects).replace(/^[a-z][^:]*: /, '')
        await expect(sheet).toContainText(about)
      }
      await expect(page.getByText('Yes, it is in service')).toHaveCount(0)
    }
    const life = standings.find((s) => s.reasons.some((r) => r.code === 'life-ended'))
    if (life) {
      await visit(page, `/pieces/${life.id}`)
      await expect(page.getByText(/No: .*service life ended/)).toBeVisible()
    }
  })
})

at('desk', () => {
  test('a rig shows its three answers apart, and the board counts against what is expected', async ({
    page,
  }) => {
    await signIn(page)
    const board = await answer<{ headline: { expected: number; able: number; confirmed: number } }>(
      page,
      '/v1/board',
    )
    const { expected, able, confirmed } = board.headline
    await expect(page.getByRole('heading', { level: 1 })).toHaveText(
      `${able} of ${expected} rigs meant for it can do a full extrication; ${confirmed} confirmed`,
    )
    const changes = await feed(page)
    const doubtful = records<RigStanding>(changes, 'rig_standing').find(
      (one) => one.level === 'full' && !one.confirmed && one.doubts.length,
    )
    if (!doubtful) return
    await page.goto(`/rigs/${doubtful.id}`)
    const answers = page.locator('.answers')
    await expect(answers.getByText('Full', { exact: true })).toBeVisible()
    await expect(answers.getByText('Not confirmed', { exact: true })).toBeVisible()
    await expect(answers).toContainText(said(doubtful.doubts[0], records<Defect>(changes, 'defect')))
  })
})

at('phone', () => {
  test.describe('with the screens that the phone keeps', () => {
    test.use({ serviceWorkers: 'allow' })

    test('without a signal a rig is not full any more once its only tool is reported out of service', async ({
      page,
      context,
    }) => {
      await signedIn(page)
      const { rig, piece } = await fullRig(page)
      await page.goto(`/pieces/${piece.id}/report`)
      // The worker has put the whole app on the phone.
      await page.evaluate(async () => void (await navigator.serviceWorker.ready))
      await page.getByRole('button', { name: 'Bent or deformed' }).click()
      await context.setOffline(true)
      await page.getByRole('button', { name: 'Send: out of service' }).click()
      await expect(page.getByText('Was full')).toBeVisible({ timeout: 15_000 })
      await expect(page.getByText(/Not full while this waits: .* reported out of service/)).toBeVisible()
      await page.getByRole('link', { name: `What ${rig.name} can do, and why` }).click()
      const answers = page.locator('.answers')
      await expect(answers.getByText('Was full')).toBeVisible()
      await expect(answers.getByText('Full', { exact: true })).toBeHidden()
      await expect(answers).toContainText(piece.tag)
      await context.setOffline(false)
      await expect(answers.getByText(/^(Limited|None)$/)).toBeVisible({ timeout: 20_000 })
      await giveBack(page, piece.id)
    })
  })
})

at('desk', () => {
  test('only what serves is offered, what does not is refused, and one on its way is not offered twice', async ({
    page,
  }) => {
    await signedIn(page)
    const { rig, piece } = await fullRig(page, 'cutter')
    await command(page, 'piece.take_out', { id: piece.id, reason: 'Test of a remedy' })
    const remedies = await answer<{ items: Remedy[] }>(page, `/v1/rigs/${rig.id}/remedies`)
    const gap = remedies.items.find((one) => one.in === 'need')
    const offered = gap?.candidates ?? []
    expect(offered.length).toBeGreaterThan(0)
    await page.goto(`/rigs/${rig.id}/swap?gap=need:${gap?.id}`)
    const row = (tag: string) =>
      page.locator('li', { has: page.getByRole('link', { name: new RegExp(`^${tag}\\b`) }) })
    for (const one of offered.slice(0, 6)) {
      const button = row(one.tag).getByRole('button', { name: `Put aboard ${one.tag}` })
      if (one.ready) await expect(button).toBeVisible()
      else await expect(button).toBeHidden()
    }
    // A sound spreader is no cutter: it is not offered, and the server takes it for that need from nobody.
    const wrong = records<Piece>(await feed(page), 'piece').find(
      (p) =>
        p.kind === 'spreader' && p.state === 'in_service' && p.place.at === 'rig' && p.place.rig !== rig.id,
    )
    if (wrong) {
      await expect(page.getByRole('button', { name: `Put aboard ${wrong.tag}` })).toHaveCount(0)
      const id = '0193f000-0000-7000-8000-0000000000aa'
      const body = { id, rig: rig.id, piece: wrong.id, need: gap?.id, on_the_way: true }
      expect((await command(page, 'swap.start', body, wrong.rev))?.outcome).toBe('refused')
    }
    const first = offered.find((one) => one.ready)
    if (first) {
      await row(first.tag).getByLabel('It still has to be driven over').check()
      await row(first.tag)
        .getByRole('button', { name: `Put aboard ${first.tag}` })
        .click()
      await expect(page.getByRole('heading', { level: 1 })).toHaveText(rig.name)
      await expect(page.locator('#gaps').getByText('On its way')).toBeVisible()
      // The rig may lack something else as well.
      const gapOnItsWay = page.locator('#gaps').getByRole('listitem').filter({ hasText: 'On its way' })
      await expect(gapOnItsWay.getByRole('link', { name: /^Put .* aboard$/ })).toHaveCount(0)
      const open = await answer<{ items: { id: string; piece: string; state: string; rev: number }[] }>(
        page,
        '/v1/swaps?limit=500',
      )
      const swap = open.items.find((s) => s.piece === first.piece && s.state === 'open')
      await command(page, 'swap.end', { id: swap?.id }, swap?.rev)
    }
    await giveBack(page, piece.id)
  })
})

at('phone', () => {
  test('every kind of piece shows its cautions', async ({ page }) => {
    await signedIn(page)
    const pieces = records<Piece>(await feed(page), 'piece')
    const say: Partial<Record<Kind, RegExp>> = {
      cutter: /Hands and body out of what closes/,
      spreader: /Stabilise first, crib as it moves/,
      combination_tool: /What is never cut/,
      ram: /Support behind both ends/,
      power_unit: /Exhaust, fuel and hot parts/,
      hose: /Dump the pressure before you couple/,
      battery: /Damaged packs stay outside/,
    }
    for (const [kind, words] of Object.entries(say)) {
      const piece = pieces.find((p) => p.kind === kind)
      if (!piece) continue
      await page.goto(`/pieces/${piece.id}`)
      await expect(page.getByText(words).first()).toBeVisible()
      await expect(page.getByText('Trained members only.')).toBeVisible()
    }
  })
})
