// The hook-up picture: seats that stay, acts that begin on it, and a spare that is held against a seat before anything is done.
import type { Page } from '@playwright/test'
import { answer, feed, fullRig, giveBack, records, signedIn, tabTo } from './helpers'
import { looks, readable } from './readable'
import { expect, test } from './test'
import type { Remedy, RemedyCandidate, Rig, RigStanding } from '../src/api/types'

test.describe.configure({ timeout: 150_000 })

const seats = (page: Page) =>
  page.locator('[data-seat]').evaluateAll((all) =>
    all.map((one) => {
      const { left, top, width, height } = (one as HTMLElement).style
      return `${(one as HTMLElement).dataset['seat']} ${left} ${top} ${width} ${height}`
    }),
  )

test('a seat stays where it is when its piece fails, and the failure is begun on the picture', async ({
  page,
}) => {
  await signedIn(page)
  const { rig, piece } = await fullRig(page)
  await page.goto(`/rigs/${rig.id}`)
  // Its own seat: lines name the tools that they lead to behind the first comma.
  const part = page.getByRole('button', { name: new RegExp(`^[^,]*${piece.tag}, `) })
  await expect(part).toHaveAccessibleName(/in service, (not confirmed, )?(hooked to \S+ by \S+|runs on)/)
  const before = await seats(page)
  await part.click()
  const sheet = page.getByRole('dialog', { name: new RegExp(piece.tag) })
  await expect(sheet.getByRole('link', { name: 'Its page' })).toBeVisible()
  await readable(page, 'the sheet of a part', false)
  await sheet.getByRole('link', { name: 'Report a defect on it' }).click()
  await page.getByRole('button', { name: 'Bent or deformed' }).click()
  await page.getByRole('button', { name: 'Send: out of service' }).click()
  await expect(page.getByText(/Hang the tag on/)).toBeVisible()
  await page.goto(`/rigs/${rig.id}`)
  await expect(part).toHaveAccessibleName(/out of service/)
  await expect(part).toContainText('Out of service')
  expect(await seats(page)).toEqual(before)
  await giveBack(page, piece.id)
  await expect(part).toHaveAccessibleName(/in service, (not confirmed, )?(hooked to|runs on)/)
  expect(await seats(page)).toEqual(before)
})

test('the keyboard walks along the seats and opens one', async ({ page }) => {
  await signedIn(page)
  const { rig } = await fullRig(page)
  await page.goto(`/rigs/${rig.id}`)
  await tabTo(page, /^Power unit.*, leads to/)
  await page.keyboard.press('ArrowRight')
  await expect(page.locator(':focus')).toHaveAccessibleName(/^Hose/)
  await page.keyboard.press('End')
  await expect(page.locator(':focus')).toHaveAttribute('data-seat', /.+/)
  await page.keyboard.press('Home')
  await expect(page.locator(':focus')).toHaveAccessibleName(/^Power unit/)
  await page.keyboard.press('Enter')
  await expect(page.getByRole('dialog', { name: /Power unit/ })).toBeVisible()
  await page.keyboard.press('Escape')
  await expect(page.locator(':focus')).toHaveAccessibleName(/^Power unit/)
})

const levelOf = async (page: Page, rig: string) =>
  records<RigStanding>(await feed(page), 'rig_standing').find((one) => one.id === rig)?.level

type Mendable = { rig: Rig; standing: RigStanding; one: RemedyCandidate }
/** Looked for once: to judge every spare for every rig takes a while in a build without optimisation. */
let found: Mendable | undefined
/** A rig that one spare would bring to a better level, at no other rig's cost. */
async function mendable(page: Page): Promise<Mendable> {
  if (found) return found
  const changes = await feed(page)
  const rigs = new Map(records<Rig>(changes, 'rig').map((rig) => [rig.id, rig]))
  for (const standing of records<RigStanding>(changes, 'rig_standing')) {
    const rig = rigs.get(standing.id)
    if (!rig?.in_service || rig.duty !== 'front_line' || standing.level !== 'limited') continue
    if (!standing.gaps.some((gap) => gap.in === 'need')) continue
    const { items } = await answer<{ items: Remedy[] }>(page, `/v1/rigs/${rig.id}/remedies`)
    const one = items
      .filter((remedy) => remedy.in === 'need')
      .flatMap((remedy) => remedy.candidates)
      .find((c) => c.ready && !c.leaves && !c.on_its_way && c.restores === 'full')
    if (one) return (found = { rig, standing, one })
  }
  throw new Error('no rig that one spare would mend')
}

test('a spare that is dragged onto its seat says what it would do; done, it is so; and it is undone', async ({
  page,
}) => {
  await signedIn(page)
  const { rig, standing, one } = await mendable(page)
  await page.goto(`/rigs/${rig.id}`)
  const chip = page.getByRole('button', { name: new RegExp(`^${one.tag} `) })
  await expect(chip).toBeVisible({ timeout: 30_000 })
  await chip.scrollIntoViewIfNeeded()
  const gap = standing.gaps.find((g) => g.in === 'slot' && g.kinds.includes(one.kind))
  const seat = page.locator(`[data-seat="${gap?.id}"]`)
  const [from, to] = [await chip.boundingBox(), await seat.boundingBox()]
  if (!from || !to) throw new Error('not on the screen')
  await page.mouse.move(from.x + 60, from.y + 20)
  await page.mouse.down()
  await page.mouse.move(from.x + 80, from.y + 10, { steps: 3 })
  // The page moves along where the seat is out of sight.
  await expect(async () => {
    const at = await seat.boundingBox()
    await page.mouse.move((at?.x ?? 0) + 40, Math.max(20, (at?.y ?? 0) + 30), { steps: 4 })
    await expect(seat).toHaveClass(/over/, { timeout: 300 })
  }).toPass({ timeout: 10_000 })
  await page.mouse.up()
  const dialog = page.getByRole('dialog', { name: new RegExp(`^${one.tag} as .* of ${rig.name}$`) })
  await expect(dialog.getByText(`${rig.name} goes from limited to full`, { exact: true })).toBeVisible()
  await readable(page, 'a spare held against a seat', false)
  await dialog.getByRole('checkbox', { name: 'It still has to be driven over' }).uncheck()
  await dialog.getByRole('button', { name: 'Do it' }).click()
  await expect(seat).toContainText(one.tag)
  await expect.poll(() => levelOf(page, rig.id)).toBe('full')
  await page.getByRole('button', { name: 'Undo' }).click()
  await expect(page.getByText(`${one.tag} goes back where it was.`)).toBeVisible()
  await expect.poll(() => levelOf(page, rig.id)).toBe('limited')
})

test('by touch or keyboard: choose the seat, then the spare; left, nothing is done', async ({ page }) => {
  await signedIn(page)
  const { rig, standing, one } = await mendable(page)
  await page.goto(`/rigs/${rig.id}`)
  const gap = standing.gaps.find((g) => g.in === 'slot' && g.kinds.includes(one.kind))
  const seat = page.locator(`[data-seat="${gap?.id}"]`)
  await expect(page.getByRole('heading', { name: 'Spares that would fit' })).toBeVisible({
    timeout: 30_000,
  })
  await seat.focus()
  await page.keyboard.press('Enter')
  await page
    .getByRole('dialog')
    .getByRole('button', { name: new RegExp(one.tag) })
    .press('Enter')
  const dialog = page.getByRole('dialog', { name: new RegExp(`^${one.tag} as`) })
  await expect(dialog.getByText(`${rig.name} goes from limited to full`, { exact: true })).toBeVisible()
  await dialog.getByRole('button', { name: 'Leave it' }).click()
  await expect(page.getByRole('dialog')).toHaveCount(0)
  expect(await levelOf(page, rig.id)).toBe('limited')
})

for (const { size, scheme } of looks('phone', 'desk'))
  test(`the picture is readable, ${size.name} ${scheme}`, async ({ page }) => {
    await page.setViewportSize(size)
    await page.emulateMedia({ colorScheme: scheme })
    await signedIn(page)
    const { rig } = await mendable(page)
    await page.goto(`/rigs/${rig.id}`)
    await expect(page.getByRole('heading', { name: 'Spares that would fit' })).toBeVisible({
      timeout: 30_000,
    })
    await readable(page, 'the rig', size.name === 'phone')
    const small = await page
      .locator('[data-seat] .words span')
      .evaluateAll((all) =>
        all.filter((one) => parseFloat(getComputedStyle(one).fontSize) < 12).map((one) => one.textContent),
      )
    expect(small).toEqual([])
    const cut = await page
      .locator('[data-seat] .words')
      .evaluateAll((all) =>
        all.filter((one) => one.scrollHeight > one.clientHeight + 1).map((one) => one.textContent),
      )
    expect(cut).toEqual([])
  })
