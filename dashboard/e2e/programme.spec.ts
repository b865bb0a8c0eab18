// The forms of the Programme by the keyboard alone: what is added, changed, refused with its sentence, and taken back. Nothing is
// clicked. What is left behind stands in no count of the board: a district that needs no rig, a rig that is a reserve.
import type { Page } from '@playwright/test'
import type { Agency, CheckPlan, Member, Model, Rig, RigClass, Station } from '../src/api/types'
import { uuid7 } from '../src/api/uuid'
import { command, feed, records, signedIn, tabTo } from './helpers'
import { choose, enter, open, press, send, write, writeDate } from './keys'
import { expect, test } from './test'

/** Tells what this run adds from what an earlier one left. */
const run = Date.now().toString(36).slice(-5)
const named = (words: string) => `Zz ${words} ${run}`
const all = async <T>(page: Page, kind: string) => records<T>(await feed(page), kind)

const dayFrom = (days: number) => new Date(Date.now() + days * 86_400_000).toISOString().slice(0, 10)

test.beforeEach(async ({ page }) => {
  test.setTimeout(120_000)
  await signedIn(page)
})

test('a district, a station and a shop', async ({ page }) => {
  await open(page, 'places', 'Places')
  const dialog = page.getByRole('dialog')
  const district = named('District')
  await press(page, /^Add a district$/)
  await expect(dialog).toBeVisible()
  // Without a name there is nothing to send.
  await expect(dialog.getByRole('button', { name: 'Add the district' })).toBeDisabled()
  await write(page, /^Name/, district)
  await write(page, /^Full rigs that it needs/, '0')
  await send(page, /^Add the district$/)
  await expect(page.getByText(`${district} is added.`)).toBeVisible()
  // The focus is where it was.
  await expect(page.getByRole('button', { name: 'Add a district' })).toBeFocused()
  await expect(page.getByRole('region', { name: 'Districts' })).toContainText(
    new RegExp(`${district}\\s*Needs 0 full rigs at least; 0 stations\\.`),
  )

  const station = named('Station')
  await press(page, /^Add a station$/)
  await write(page, /^Name/, station)
  await choose(page, /^District/, district)
  await write(page, /^Latitude/, '40.5')
  await press(page, /^Add the station$/)
  const latitude = dialog.getByLabel(/^Latitude/)
  await expect(latitude).toHaveAccessibleDescription(/A point has a latitude and a longitude/)
  await expect(latitude).toHaveAttribute('aria-invalid', 'true')
  await write(page, /^Longitude/, '-111.5')
  await send(page, /^Add the station$/)
  const stations = page.getByRole('region', { name: 'Stations' })
  await expect(stations.getByRole('listitem').filter({ hasText: station })).toContainText(district)
  expect((await all<Station>(page, 'station')).find((one) => one.name === station)).toMatchObject({
    lat: 40.5,
    lon: -111.5,
  })
  // Without its position again, and with a number.
  await press(page, new RegExp(`^Change ?${station}$`))
  await expect(dialog.getByLabel('Name')).toHaveValue(station)
  await write(page, /^Number, as you write it/, '77')
  await write(page, /^Latitude/, '')
  await write(page, /^Longitude/, '')
  await send(page, /^Save$/)
  await expect(stations.getByRole('listitem').filter({ hasText: station })).toContainText(
    /No\. 77\..*Position not known\./,
  )

  const shop = named('Shop')
  await press(page, /^Add a shop$/)
  await write(page, /^Name/, shop)
  await send(page, /^Add the shop$/)
  await press(page, new RegExp(`^Change ?${shop}$`))
  await expect(dialog.getByRole('button', { name: 'Save' })).toBeDisabled()
  await write(page, /^Name/, `${shop} north`)
  await send(page, /^Save$/)
  await expect(page.getByRole('region', { name: 'Shops' })).toContainText(`${shop} north`)
  // Escape lets go of what was typed.
  await press(page, new RegExp(`^Change ?${shop} north$`))
  await write(page, /^Name/, 'Something else')
  await page.keyboard.press('Escape')
  await expect(dialog).toBeHidden()
  await expect(page.getByRole('region', { name: 'Shops' })).toContainText(`${shop} north`)
})

test('a rig class and a rig', async ({ page }) => {
  await open(page, 'rigs', 'Rigs')
  const dialog = page.getByRole('dialog')
  const name = named('Class')
  await press(page, /^Add a rig class$/)
  await write(page, /^Name/, name)
  await choose(page, /^Its rigs should reach/, 'Limited')
  // A list of nothing is none.
  await press(page, /^Add the class$/)
  await expect(dialog).toContainText(/A complement has from 1 to \d+ slots/)
  for (const slot of ['Cutter', 'Long hose']) {
    await write(page, /^One more piece that it carries/, slot)
    await press(page, /^Add it$/)
  }
  await tabTo(page, /^Long hose/)
  await page.keyboard.press('Enter')
  // A place that is open stays open while it is written.
  for (const kind of [/^Cutter$/, /^Hose$/]) {
    await tabTo(page, kind)
    await page.keyboard.press('Space')
  }
  await press(page, /^Up: Long hose$/)
  await send(page, /^Add the class$/)
  const added = (await all<RigClass>(page, 'rig_class')).find((one) => one.name === name)
  expect(added?.expects).toBe('limited')
  expect(added?.complement.slots.map(({ name, kinds }) => ({ name, kinds }))).toEqual([
    { name: 'Long hose', kinds: ['hose'] },
    { name: 'Cutter', kinds: ['cutter'] },
  ])
  const classes = page.getByRole('region', { name: 'Rig classes' })
  await expect(classes.getByRole('listitem').filter({ hasText: name })).toContainText('2 required; 0 rigs')
  // The hose is taken off the list again.
  await press(page, new RegExp(`^Change ?${name}$`))
  await tabTo(page, /^Long hose/)
  await page.keyboard.press('Enter')
  await press(page, /^Take off the list: Long hose$/)
  await send(page, /^Save$/)
  await expect(classes.getByRole('listitem').filter({ hasText: name })).toContainText('1 required; 0 rigs')

  const rig = named('Rig')
  const [home, other] = (await all<Station>(page, 'station')).toSorted((a, b) => (a.name < b.name ? -1 : 1))
  await press(page, /^Add a rig$/)
  await write(page, /^Name/, rig)
  await choose(page, /^Station/, home?.name ?? '')
  await choose(page, /^Class/, name)
  await choose(page, /^Duty/, 'Ready')
  await send(page, /^Add the rig$/)
  const rigs = page.getByRole('region', { name: 'Rigs', exact: true })
  const row = rigs.getByRole('listitem').filter({ hasText: rig })
  await expect(row).toContainText(`${home?.name}; ${name}; ready reserve.`)
  await press(page, new RegExp(`^Change ?${rig}$`))
  await choose(page, /^Station/, other?.name ?? '')
  await expect(dialog).toContainText('Everything aboard goes with it.')
  await choose(page, /^Class/, 'None')
  await send(page, /^Save$/)
  await expect(row).toContainText(`${other?.name}; no class; ready reserve.`)
  expect((await all<Rig>(page, 'rig')).find((one) => one.name === rig)).toMatchObject({
    station: other?.id,
    rig_class: null,
    duty: 'ready_reserve',
  })
})

test('many rigs at once: their class and their station, each with one undo', async ({ page }) => {
  const [home, other] = (await all<Station>(page, 'station')).toSorted((a, b) => (a.name < b.name ? -1 : 1))
  const [kind] = (await all<RigClass>(page, 'rig_class')).toSorted((a, b) => (a.name < b.name ? -1 : 1))
  const names = [named('Reserve A'), named('Reserve B')]
  for (const name of names) {
    const body = { id: uuid7(), name, station: home?.id, duty: 'ready_reserve', rig_class: null }
    expect((await command(page, 'rig.add', body))?.outcome).toBe('applied')
  }
  const mine = async () => (await all<Rig>(page, 'rig')).filter((one) => names.includes(one.name))
  await open(page, 'rigs?class=none', 'Rigs')
  const dialog = page.getByRole('dialog')
  const pick = async () => {
    for (const name of names) {
      await tabTo(page, new RegExp(`^${name}`), 400)
      await page.keyboard.press('Space')
    }
    await expect(page.getByRole('region', { name: 'The chosen rigs' })).toContainText('2 rigs chosen')
  }
  await pick()
  await press(page, /^Choose their class$/)
  await choose(page, /^Class/, kind?.name ?? '')
  await send(page, /^Set it$/)
  await expect(page.getByText(`2 rigs in ${kind?.name}.`)).toBeVisible()
  expect((await mine()).map((one) => one.rig_class)).toEqual([kind?.id, kind?.id])
  await enter(page.getByRole('button', { name: 'Undo', exact: true }))
  await expect(page.getByText('2 rigs back as before.')).toBeVisible()
  expect((await mine()).map((one) => one.rig_class)).toEqual([null, null])

  await pick()
  await press(page, /^Move to a station$/)
  await expect(dialog).toContainText('Everything aboard goes with them.')
  await choose(page, /^Station/, other?.name ?? '')
  await send(page, /^Move them$/)
  await expect(page.getByText(`2 rigs moved to ${other?.name}.`)).toBeVisible()
  expect((await mine()).map((one) => one.station)).toEqual([other?.id, other?.id])
  await enter(page.getByRole('button', { name: 'Undo', exact: true }))
  await expect(page.getByText('2 rigs back where they were.')).toBeVisible()
  expect((await mine()).map((one) => one.station)).toEqual([home?.id, home?.id])
})

test('a member: added, signed off, given a certificate, and let go', async ({ page }) => {
  await open(page, 'people', 'People')
  const dialog = page.getByRole('dialog')
  const name = named('Member')
  const taken = (await all<Member>(page, 'member')).find((one) => one.role === 'crew')?.email ?? ''
  await press(page, /^Add a member$/)
  await write(page, /^Name/, name)
  await write(page, /^E-mail, to sign in with/, taken)
  await press(page, /^Add the member$/)
  await expect(dialog.getByLabel(/^E-mail/)).toHaveAccessibleDescription(/another member|already/i)
  await write(page, /^E-mail, to sign in with/, `zz-${run}@tamarrow.example`)
  await choose(page, /^Role/, 'Crew')
  await send(page, /^Add the member$/)
  await expect(page.getByText(`${name} is a member now.`)).toBeVisible()

  await write(page, /^Name or e-mail/, `zz-${run}`)
  const members = page.getByRole('region', { name: 'Members' })
  const row = members.getByRole('listitem').filter({ hasText: name })
  await expect(members.getByRole('listitem')).toHaveCount(1)
  await press(page, new RegExp(`^Change: ${name}$`))
  await choose(page, /^Role/, 'Officer')
  await expect(dialog).toContainText(`It ends all sign-ins of ${name}.`)
  await send(page, /^Save$/)
  await expect(row).toContainText('Officer, the whole agency')

  await tabTo(page, new RegExp(`^${name}$`), 400)
  await page.keyboard.press('Space')
  await press(page, /^Sign off 1 member$/)
  await tabTo(page, /^Spreader$/)
  await page.keyboard.press('Space')
  await writeDate(page, /^The last day on which it counts/, dayFrom(5))
  await press(page, /^Sign off$/)
  await expect(dialog).toBeHidden({ timeout: 15_000 })
  await expect(row).toContainText(/Signed off: spreader \(\d+ more days, until /)
  const soon = page.getByRole('region', { name: /^Ran out, or runs out/ })
  await expect(soon).toContainText(name)

  await press(page, new RegExp(`^File a certificate: ${name}$`))
  await write(page, /^What the paper says/, `Technician Z-${run}`)
  await writeDate(page, /^The last day on which it counts/, dayFrom(-3))
  await expect(dialog).toContainText('That day has passed: it does not count.')
  await writeDate(page, /^The last day on which it counts/, dayFrom(400))
  await expect(dialog).not.toContainText('That day has passed')
  await send(page, /^Put it on file$/)
  await expect(row).toContainText(`Certificate Technician Z-${run}`)

  // Let go: it may not sign in, and stays on record with what it did.
  await press(page, new RegExp(`^Change: ${name}$`))
  await tabTo(page, /^May sign in$/)
  await page.keyboard.press('Space')
  await send(page, /^Save$/)
  await expect(row).toContainText('May not sign in.')
  expect((await all<Member>(page, 'member')).find((one) => one.name === name)).toMatchObject({
    active: false,
    role: 'officer',
  })
})

/** Withdraws the plans that this file puts in force, those of an earlier run too. */
async function withdraw(page: Page) {
  for (const { id, rev, state, plan } of await all<CheckPlan>(page, 'check_plan'))
    if (state === 'in_force' && plan.name.startsWith('Zz plan'))
      await command(page, 'check_plan.withdraw', { id, reason: 'End of test' }, rev)
}

test('a figure of a maker’s manual', async ({ page }) => {
  await withdraw(page)
  // A plan that asks for one, and that nothing makes due.
  const id = uuid7()
  const added = await command(page, 'check_plan.add', {
    id,
    plan: {
      name: named('plan'),
      version: 1,
      covers: { kinds: ['ram'], models: [] },
      rhythm: { every: 'event', events: ['flood'] },
      steps: [
        {
          id: 'step-1',
          title: 'Extend it fully',
          how: 'On its own hose, without a load.',
          ask: { kind: 'number', measure: 'opening_time', units: ['s'], limits: [{ kind: 'makers_bound' }] },
          stage: 'function',
          source: { kind: 'practice' },
          fails_as: 'other',
        },
      ],
      signer: 'member',
      grace_days: 2,
      proves: ['checked'],
    },
  })
  expect(added?.outcome, JSON.stringify(added)).toBe('applied')
  await open(page, 'limits', 'Maker’s limits')
  const dialog = page.getByRole('dialog')
  const missing = page.getByRole('region', { name: 'Missing figures' })
  const first = missing.getByRole('button', { name: /^Enter it/ }).first()
  await expect(first).toBeVisible()
  const what = ((await first.textContent()) ?? '').replace(/^Enter it: /, '').trim()
  await press(page, /^Enter it: /)
  await expect(dialog.getByRole('heading', { name: what })).toBeVisible()
  const exactly = what.replace(/[.*+?^${}()|[\]\\]/g, '\\$&')
  const enter = new RegExp(`^Enter it ?: ${exactly}$`)
  await write(page, /^At least/, '9')
  await write(page, /^At most/, '4')
  await press(page, /^Save the figure$/)
  await expect(dialog).toContainText('The least is more than the most')
  await write(page, /^At least/, '')
  await send(page, /^Save the figure$/)
  const known = page.getByRole('region', { name: 'On record' })
  await expect(known).toContainText(`${what}: at most`)
  await expect(missing.getByRole('button', { name: enter })).toHaveCount(0)
  expect((await all<Model>(page, 'model')).flatMap((one) => one.makers_bounds).length).toBeGreaterThan(0)

  // A figure that nobody can answer for goes off the record; the plan cannot be passed again.
  await press(page, new RegExp(`^Change ?: ${exactly}$`))
  await write(page, /^At most/, '')
  await send(page, /^Take it off the record$/)
  await expect(missing.getByRole('button', { name: enter })).toBeVisible()
  await withdraw(page)
  await expect(missing.getByRole('button', { name: enter })).toHaveCount(0)
})

test('the policy: an effect shown before, let go, saved, and put back with a reason', async ({ page }) => {
  await open(page, 'policy', 'Policy')
  const hose = page.getByLabel('Years that a hose may be used')
  const was = Number(await hose.inputValue())
  expect(was).toBeGreaterThan(2)
  await write(page, /^Years that a hose may be used/, String(was - 1))
  await page.keyboard.press('Tab')
  await expect(page.getByText('What it would do').first()).toBeVisible()
  await press(page, /^Leave it as it was$/)
  await expect(hose).toHaveValue(String(was))

  await write(page, /^Years that a hose may be used/, String(was - 1))
  await page.keyboard.press('Tab')
  await press(page, /^Save the policy$/)
  await expect(page.getByText('Saved. Every rig is judged by it now.')).toBeVisible()
  const life = async () => (await all<Agency>(page, 'agency'))[0]?.policy.hose_life_years
  expect(await life()).toBe(was - 1)

  // What lets more count is saved only with a reason.
  await write(page, /^Years that a hose may be used/, String(was))
  await page.keyboard.press('Tab')
  await expect(page.getByLabel(/^This lets more count/)).toBeVisible({ timeout: 15_000 })
  await write(page, /^This lets more count\. Why/, 'As the makers say')
  await press(page, /^Save the policy$/)
  await expect.poll(life).toBe(was)
})
