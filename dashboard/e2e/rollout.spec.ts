// A rollout week that is rightly refused, because a shift lacks its minimum, and changes over once the shift has it.
import type { Page } from '@playwright/test'
import type { CardDraft, Clearance, Member, Piece, RolloutRig, RolloutSets } from '../src/api/types'
import { uuid7 } from '../src/api/uuid'
import { answer, command, feed, records, signedIn, soundEvidence } from './helpers'
import { readable } from './readable'
import { expect, test } from './test'

const today = () => new Date().toLocaleDateString('en-CA', { timeZone: 'America/Denver' })

async function done(page: Page, kind: string, body: Record<string, unknown>, expects?: number) {
  const told = await command(page, kind, body, expects)
  expect(told?.outcome, `${kind}: ${JSON.stringify(told?.problem)}`).toBe('applied')
}

/** A station of its own with one rig, an old cutter aboard and a new one of the same coupling and another fluid on the shelf. */
async function yard(page: Page) {
  const mark = String(Date.now() % 1_000_000)
  const ids = {
    district: uuid7(),
    station: uuid7(),
    rig: uuid7(),
    old: uuid7(),
    fresh: uuid7(),
    leaves: uuid7(),
    comes: uuid7(),
  }
  const names = {
    rig: `Engine R${mark}`,
    station: `Yard ${mark}`,
    old: `Oldwing ${mark}`,
    fresh: `Newwing ${mark}`,
  }
  const hookup = (fluid: string) => ({
    coupling: 'twin screw',
    fluid,
    pressure: { value: 9000, unit: 'psi' },
  })
  await done(page, 'district.add', { id: ids.district, name: `Yards ${mark}`, min_full: 0 })
  await done(page, 'station.add', { id: ids.station, name: names.station, district: ids.district })
  await done(page, 'rig.add', { id: ids.rig, name: names.rig, station: ids.station })
  const cutter = { kind: 'cutter' }
  await done(page, 'model.add', {
    id: ids.old,
    name: names.old,
    ...cutter,
    hookup: hookup('phosphate ester'),
  })
  await done(page, 'model.add', {
    id: ids.fresh,
    name: names.fresh,
    ...cutter,
    family: names.fresh,
    hookup: hookup('mineral oil'),
  })
  await done(page, 'piece.add', {
    id: ids.leaves,
    tag: `OLD-${mark}`,
    model: ids.old,
    place: { at: 'rig', rig: ids.rig },
  })
  await done(page, 'piece.add', {
    id: ids.comes,
    tag: `NEW-${mark}`,
    model: ids.fresh,
    place: { at: 'shelf', station: ids.station },
  })
  return { mark, ids, names }
}

/** What the shop and the coordinator do: accepted with readings, and a card that somebody approved. */
async function accepted(page: Page, piece: string, model: string) {
  const { annual } = await answer<Clearance>(page, `/v1/pieces/${piece}/release`)
  const paper = { by: 'Maker’s service', reference: 'Paper 7', on: today() }
  const evidence = { ...soundEvidence(annual), makers_service: paper }
  await done(page, 'piece.serviced', { id: piece, on: today(), by_whom: 'the maker', evidence })
  const id = uuid7()
  const empty = { stowed: '', levers: '', controls: '', shut_down: '', restow: '', care: '', cautions: '' }
  const text = {
    ...empty,
    start: '1. Hose on',
    differs: 'The valve is on the left',
    replaces: null,
    pictures: [],
  }
  await done(page, 'card_draft.add', { id, subject: { of: 'model', model }, from_version: 0, text })
  const { rev } = await answer<CardDraft>(page, `/v1/card-drafts/${id}`)
  await done(page, 'card_draft.approve', { id }, rev)
}

test('a rig does not change over while a shift lacks its minimum, and does once it has it', async ({
  page,
}) => {
  test.setTimeout(60_000)
  await signedIn(page)
  const { mark, ids, names } = await yard(page)
  const members = records<Member>(await feed(page), 'member')
  const crew = members.find((one) => one.name === 'Wes Calderbrook')
  if (!crew) throw new Error('no Wes Calderbrook')

  // Started by the form: what comes, what leaves, one of the A shift.
  await page.goto('/programme/rollouts')
  await page.getByRole('button', { name: 'Start a rollout' }).click()
  const dialog = page.getByRole('dialog')
  await dialog.getByLabel('Name', { exact: true }).fill(`Rollout ${mark}`)
  await dialog.getByLabel('Search models of the new set').fill(names.fresh)
  await dialog.getByRole('checkbox', { name: `${names.fresh}, cutter` }).check()
  await dialog.getByLabel('Search models that leave').fill(names.old)
  await dialog.getByRole('checkbox', { name: `${names.old}, cutter` }).check()
  while ((await dialog.getByRole('button', { name: /^Leave shift/ }).count()) > 1)
    await dialog.getByRole('button', { name: 'Leave shift 2 out' }).click()
  await dialog.getByLabel('Shift 1', { exact: true }).fill('A shift')
  await dialog.getByLabel('Members of shift 1').fill('1')
  await dialog.getByRole('button', { name: 'Start it' }).click()
  await expect(page.getByRole('heading', { level: 1 })).toHaveText(`Rollout ${mark}`)
  await expect(page.getByText('No rig is planned yet.')).toBeVisible()

  // A week for the rig, and its new cutter, which goes aboard by no other way from then on.
  await page.getByRole('button', { name: 'Plan a rig' }).click()
  await dialog.getByRole('combobox', { name: 'Rig', exact: true }).selectOption({ label: names.rig })
  await dialog.getByRole('combobox', { name: 'Week', exact: true }).selectOption({ index: 1 })
  await dialog.getByRole('checkbox', { name: new RegExp(`^NEW-${mark} `) }).check()
  await dialog.getByRole('button', { name: 'Plan it' }).click()
  const line = page.locator(`li[data-rig="${names.rig}"]`)
  await expect(line).toContainText('things hold it up')
  await expect(line).toContainText(`NEW-${mark} has no acceptance test with readings`)
  await expect(line).toContainText(`A shift of ${names.station}: who belongs to it is not known`)
  const piece = await answer<Piece>(page, `/v1/pieces/${ids.comes}`)
  const onRig = { at: 'rig', rig: ids.rig }
  const moved = await command(page, 'piece.move', { id: ids.comes, to: onRig, arrived: true }, piece.rev)
  expect(moved?.outcome).toBe('refused')

  await accepted(page, ids.comes, ids.fresh)
  for (const [button, words] of [
    [`It is marked for ${names.rig}`, 'Both ends of the hose carry the same number'],
    [`Its compartment on ${names.rig}`, 'Left side, second compartment'],
  ] as const) {
    await page.getByRole('button', { name: button, exact: true }).click()
    await dialog.getByRole('textbox').fill(words)
    await dialog.getByRole('button', { name: 'I say so' }).click()
    await expect(line).toContainText(words)
  }
  // The roster is known now, and nobody of it is signed off.
  await page.getByRole('button', { name: `Roster of A shift of ${names.station}` }).click()
  await dialog.getByText(/^From other stations/).click()
  await dialog.getByRole('checkbox', { name: crew.name, exact: true }).check()
  await dialog.getByRole('button', { name: 'Keep the roster' }).click()
  await expect(line).toContainText('1 thing holds it up')
  const shift = page.locator(`li[data-shift="${names.station}/A shift"]`)
  await expect(shift).toContainText(`Wes Calderbrook: cutter of ${names.fresh} missing`)

  // Rightly held: said before anything is sent, and refused by the service where it is sent by another door.
  const change = page.getByRole('button', { name: `Change ${names.rig} over` })
  await change.click()
  const why = `A shift of ${names.station}: 0 of at least 1 are signed off on the new set`
  await expect(dialog).toContainText(`${names.rig} does not change over yet`)
  await expect(dialog).toContainText(why)
  await expect(dialog.getByRole('button', { name: 'Change it over' })).toBeDisabled()
  await expect(dialog.getByRole('button', { name: 'Look again' })).toBeEnabled()
  const plan = records<RolloutRig>(await feed(page), 'rollout_rig').find((one) => one.rig === ids.rig)
  if (!plan) throw new Error('the rig is not planned')
  const refused = await command(
    page,
    'rollout_rig.change_over',
    { id: plan.id, old_to: { at: 'shelf', station: ids.station } },
    plan.rev,
  )
  expect(refused?.outcome).toBe('refused')
  expect(JSON.stringify(refused?.problem)).toContain(why)
  expect((await answer<Piece>(page, `/v1/pieces/${ids.comes}`)).place.at).toBe('shelf')
  await page.keyboard.press('Escape')

  // Another officer has seen him work with it.
  await done(page, 'member.sign_off', {
    id: crew.id,
    kinds: ['cutter'],
    family: names.fresh,
    until: '2099-12-31',
  })
  await expect(line).toContainText('Nothing holds it up today')
  await readable(page, 'a rollout', false)
  await page.setViewportSize({ width: 390, height: 844 })
  await readable(page, 'a rollout on a phone', true)
  await page.setViewportSize({ width: 1440, height: 900 })
  await change.click()
  await dialog.getByRole('button', { name: 'Change it over' }).click()
  await expect(dialog).toBeHidden()
  await expect(line).toContainText('Changed over, not finished')
  await expect(line).toContainText(`NEW-${mark} was not tried on ${names.rig} yet`)
  await expect(line).toContainText(`OLD-${mark} of the old set is on its way`)
  expect((await answer<Piece>(page, `/v1/pieces/${ids.comes}`)).place).toEqual(onRig)
  expect((await answer<Piece>(page, `/v1/pieces/${ids.leaves}`)).place.at).toBe('transit')

  // Both sets are shown apart, with the caution; a cutter feeds no cutter, so there is no joint, and nobody calls that safe.
  const sets = page.getByRole('region', { name: 'Both sets, apart' })
  await expect(sets).toContainText('Never join a part of the old set to a part of the new one')
  await expect(sets).toContainText('phosphate ester')
  const apart = await answer<RolloutSets>(
    page,
    `${new URL(page.url()).pathname.replace('/programme', '/v1')}/sets`,
  )
  expect(apart.joints).toEqual([])
  await expect(sets).toContainText('This does not say that they are safe side by side')

  await page.goto('/programme/rollouts')
  await expect(page.getByRole('listitem').filter({ hasText: `Rollout ${mark}` })).toContainText('1 of 1 rigs')
})
