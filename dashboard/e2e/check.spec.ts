// The check on the phone: a rig walked step by step, with no signal, to the defect that a failing step is.
import type { Page } from '@playwright/test'
import { uuid7 } from 'fullset-client'
import type {
  Check,
  CheckPlan,
  Defect,
  Piece,
  PieceStanding,
  RigStanding,
  StarterPlan,
} from '../src/api/types'
import { answer, command, fullRig, giveBack, signedIn } from './helpers'
import { looks, readable } from './readable'
import { expect, test } from './test'

const PHONE = { width: 390, height: 844 }
const PHOTO = 'public/icon-512.png'

const starters = async (page: Page) =>
  (await answer<{ items: StarterPlan[] }>(page, '/v1/check-plans/starters')).items

/** Puts a starter plan in force under a name of its own, and waits until it asks for a check of the piece. */
async function inForce(page: Page, key: string, name: string, piece: string): Promise<string> {
  const starter = (await starters(page)).find((one) => one.key === key)
  if (!starter) throw new Error(`no starter plan ${key}`)
  const id = uuid7()
  const done = await command(page, 'check_plan.add', { id, plan: { ...starter.plan, name } })
  expect(done?.outcome, JSON.stringify(done?.problem)).toBe('applied')
  const dues = async () =>
    (await answer<PieceStanding>(page, `/v1/piece-standings/${piece}`)).due.map((one) => one.plan)
  await expect.poll(dues).toContain(id)
  return id
}
async function withdraw(page: Page, id: string) {
  const { rev } = await answer<CheckPlan>(page, `/v1/check-plans/${id}`)
  const done = await command(page, 'check_plan.withdraw', { id, reason: 'End of test' }, rev)
  expect(done?.outcome, JSON.stringify(done?.problem)).toBe('applied')
}

/** Only the checks of this name are chosen. */
async function choose(page: Page, name: string) {
  await expect(page.getByRole('checkbox', { name }).first()).toBeVisible()
  for (const box of await page.getByRole('checkbox').all())
    await box.setChecked((await box.locator('..').innerText()).includes(name))
}
/** Answers the step that is open, as a thumb that has read it. */
async function press(page: Page, name: string) {
  await page.waitForTimeout(400)
  await page.getByRole('button', { name, exact: true }).click()
}

test.use({ viewport: PHONE })

test('a rig is walked with no signal, a step fails, and the defect and the level are there when the signal is', async ({
  page,
  context,
}) => {
  test.setTimeout(120_000)
  await signedIn(page)
  const { rig, piece } = await fullRig(page, 'cutter')
  const name = `Weekly check, test ${uuid7().slice(-6)}`
  const plan = await inForce(page, 'weekly-cutter', name, piece.id)
  try {
    await page.goto(`/rigs/${rig.id}/check`)
    await choose(page, name)
    await page.getByRole('button', { name: /^Begin: \d+ steps on/ }).click()
    await context.setOffline(true)

    const progress = page.getByText(/^Step \d+ of \d+, cutter/)
    const steps = Number(/of (\d+)/.exec(await progress.innerText())?.[1])
    for (let n = 1; n <= steps; n++) {
      await expect(progress).toContainText(`Step ${n} of ${steps}, cutter ${piece.tag}`)
      if (await page.getByRole('heading', { level: 1, name: /^Blades/ }).isVisible()) {
        await press(page, 'No')
        await expect(page.getByText(/goes out of service; hang the tag/)).toBeVisible()
        await page.getByLabel(/In your own words/).fill('Nick near the tip')
        await page.getByLabel('Choose photos').setInputFiles(PHOTO)
        await expect(page.getByRole('img', { name: 'Photo 1 of what you saw' })).toBeVisible()
        await page.getByRole('button', { name: 'Next step' }).click()
      } else if (n === steps) {
        // Stopped and gone on with: half done it is on this phone.
        await press(page, 'Stop, go on later')
        await expect(page.getByText(`${steps - 1} of ${steps} steps answered`)).toBeVisible()
        await page.getByRole('button', { name: 'Go on with it' }).click()
        await press(page, 'Yes')
      } else await press(page, 'Yes')
    }
    await expect(page.getByText(`${steps} of ${steps} answered`)).toBeVisible()
    await expect(page.getByText(/Blades.*: No$/)).toBeVisible()
    await page.getByRole('button', { name: 'Sign and send: 1 check' }).click()

    await expect(page.getByRole('heading', { name: `The check of ${rig.name} is kept` })).toBeVisible()
    await expect(page.getByText('Not sound; the service has not heard of it yet')).toBeVisible()
    await expect(page.getByText('Was full')).toBeVisible()
    await expect(page.getByText(/^Hang the tag on/)).toContainText(piece.tag)

    await context.setOffline(false)
    await expect(page.getByText('Not passed', { exact: true })).toBeVisible({ timeout: 30_000 })
    await expect(page.getByText(/^Not passed: Blades.*no, and must be yes/)).toBeVisible()
    await expect(page.getByText(/can do less than before: tell the officer and dispatch/)).toBeVisible()
    await expect(page.getByText(/^Hang the tag on/)).toContainText(piece.tag)
    await expect
      .poll(async () => (await answer<RigStanding>(page, `/v1/rig-standings/${rig.id}`)).level)
      .not.toBe('full')
    expect((await answer<Piece>(page, `/v1/pieces/${piece.id}`)).state).toBe('out_of_service')

    const { items } = await answer<{ items: Check[] }>(page, `/v1/checks?parent=${piece.id}`)
    const check = items.find((one) => one.plan === plan)
    expect(check).toMatchObject({ outcome: 'failed', counts: true })
    const id = check?.steps.find((one) => one.step === 'blades')?.defect ?? ''
    const found = await answer<Defect>(page, `/v1/defects/${id}`)
    expect(found.what).toMatch(/^Nick near the tip \(/)
    expect(found.seen_again).toBe(0)
    expect(found).toMatchObject({ class: 'deformation', severity: 'out_of_service', state: 'open' })
    const [sha] = found.photos
    await expect
      .poll(() => page.evaluate(async (s) => (await fetch(`/v1/photos/${s}`)).status, sha))
      .toBe(200)

    await page.goto(`/pieces/${piece.id}`)
    const own = page
      .getByRole('region', { name: 'Its checks' })
      .getByRole('listitem')
      .filter({ hasText: name })
    await expect(own.getByText('Not passed', { exact: true })).toBeVisible()
    await own.getByRole('button', { name: /^Earlier checks/ }).click()
    await expect(page.getByRole('heading', { name: `${name}: earlier checks` })).toBeVisible()
  } finally {
    await context.setOffline(false)
    await withdraw(page, plan)
    await giveBack(page, piece.id)
  }
})

test('what somebody else recorded meanwhile is left out, unless it is chosen', async ({ page }) => {
  await signedIn(page)
  const { rig, piece } = await fullRig(page, 'spreader')
  const name = `Weekly check, test ${uuid7().slice(-6)}`
  const plan = await inForce(page, 'weekly-spreader', name, piece.id)
  try {
    await page.goto(`/rigs/${rig.id}/check`)
    await choose(page, name)
    await page.getByRole('button', { name: /^Begin: \d+ steps on/ }).click()
    await press(page, 'Yes')
    // A member of another name: the crew's own sign-in in a context of its own.
    const other = await page
      .context()
      .browser()
      ?.newContext({ baseURL: new URL(page.url()).origin })
    if (!other) throw new Error('no browser')
    const theirs = await other.newPage()
    await theirs.goto('/')
    await theirs.getByLabel('E-mail').fill('chief@tamarrow.example')
    await theirs.getByLabel('Password').fill('county-demo-only')
    await theirs.getByRole('button', { name: 'Sign in' }).click()
    await expect(theirs.getByText('Live', { exact: true })).toBeVisible()
    const answers = [{ step: 'stowed', said: { kind: 'yes_no', yes: true } }]
    const done = await command(theirs, 'check.record', { plan, version: 1, piece: piece.id, answers })
    expect(done?.outcome, JSON.stringify(done?.problem)).toBe('applied')
    await other.close()

    await expect(page.getByRole('heading', { name: /^Left out/ })).toBeVisible()
    await expect(page.getByText(/done by Ingrid Vasquell at \d\d:\d\d: Not complete/)).toBeVisible()
    await expect(page.getByRole('button', { name: 'Nothing is answered yet' })).toBeDisabled()
    await page.getByRole('button', { name: /^Do it all the same/ }).click()
    await expect(page.getByRole('button', { name: 'Sign and send: 1 check' })).toBeEnabled()
  } finally {
    await withdraw(page, plan)
  }
})

for (const { size, scheme } of looks('phone'))
  test(`the walk and the sheet can be read on a ${size.name} in ${scheme}`, async ({ page }) => {
    test.setTimeout(90_000)
    await page.emulateMedia({ colorScheme: scheme })
    await page.setViewportSize(size)
    await signedIn(page)
    const { rig, piece } = await fullRig(page, 'cutter')
    const name = `Yearly check, test ${uuid7().slice(-6)}`
    const id = uuid7()
    const starter = (await starters(page)).find((one) => one.key === 'annual-cutter')
    const steps = starter?.plan.steps.filter((one) => ['blades', 'opening'].includes(one.id)) ?? []
    expect(steps.map((one) => one.ask.kind)).toEqual(['yes_no', 'number'])
    const body = { id, plan: { ...starter?.plan, name, steps, signer: 'member' } }
    expect((await command(page, 'check_plan.add', body))?.outcome).toBe('applied')
    const phone = size.name === 'phone'
    try {
      await page.goto(`/rigs/${rig.id}/check`)
      await choose(page, name)
      await readable(page, 'choose', phone)
      await page.getByRole('button', { name: /^Begin: / }).click()
      await press(page, 'No')
      await expect(page.getByText(/goes out of service; hang the tag/)).toBeVisible()
      // What lies under the bar of a phone is scrolled to.
      await page.evaluate(() => scrollTo(0, document.body.scrollHeight))
      await readable(page, 'not sound', phone)
      await page.getByRole('button', { name: 'Next step' }).click()
      await expect(page.getByText('No earlier reading on record.')).toBeVisible()
      await expect(page.getByRole('textbox')).toHaveValue('')
      for (const key of ['1', 'Point', '5'])
        await page.getByRole('button', { name: key, exact: true }).click()
      await readable(page, 'number', phone)
      await press(page, 'Take 1.5 s')
      await expect(page.getByText('Not sound: what did you see?')).toBeVisible()
      await page.getByRole('button', { name: 'Next step' }).click()
      await expect(page.getByRole('button', { name: /^Sign and send/ })).toBeVisible()
      await readable(page, 'summary', phone)
      await page.goto(`/rigs/${rig.id}/check/sheet`)
      await expect(page.getByRole('heading', { level: 2 }).first()).toContainText(/\w+-\d+/)
      await readable(page, 'sheet', phone)
      await page.goto(`/pieces/${piece.id}`)
      await expect(
        page.getByRole('region', { name: 'Its checks' }).getByRole('listitem').filter({ hasText: name }),
      ).toContainText('No check by it is on record yet')
    } finally {
      await withdraw(page, id)
    }
  })

test('a thumb that reads walks the weekly starters of eight pieces in four minutes at most', async ({
  page,
}) => {
  await signedIn(page)
  const all = await starters(page)
  const kinds = ['power-unit', 'hose', 'hose', 'cutter', 'spreader', 'ram', 'ram', 'accessory']
  // All steps, also those that only another drive is asked: 1 s each, 2 s more for a caution.
  const seconds = kinds
    .flatMap((kind) => all.find((one) => one.key === `weekly-${kind}`)?.plan.steps ?? [])
    .reduce((sum, step) => sum + 1 + (step.caution ? 2 : 0), 0)
  expect(seconds).toBeGreaterThan(60)
  expect(seconds).toBeLessThanOrEqual(240)
})
