// What pieces are made of, by the keyboard alone: couplings, models, pieces, tool sets, the rules on defects. Nothing is clicked. The
// pieces of a run lie on a shelf and are retired at its end.
import type { Page } from '@playwright/test'
import { Client, ephemeral, prepare, push } from 'fullset-client'
import type { Agency, Coupling, Member, Model, Piece, Station, ToolSet } from '../src/api/types'
import { command, feed, originOf, PASSWORD, records, SHOP, signedIn, tabTo } from './helpers'
import { choose, enter, open, press, send, write, writeDate } from './keys'
import { readable } from './readable'
import { expect, test } from './test'

/** Tells what this run adds from what an earlier one left. */
const run = Date.now().toString(36).slice(-5)
const named = (words: string) => `Zz ${words} ${run}`
const all = async <T>(page: Page, kind: string) => records<T>(await feed(page), kind)
const one = async <T extends { name: string }>(page: Page, kind: string, name: string) =>
  (await all<T>(page, kind)).find((record) => record.name === name)
const dayFrom = (days: number) => new Date(Date.now() + days * 86_400_000).toISOString().slice(0, 10)
const COUPLING = named('coupling')
const MODEL = named('cutter')
const tag = (n: number) => `ZZ${run}-${n}`.toUpperCase()

// Each goes on with what the one before has added.
test.describe.configure({ mode: 'serial' })
test.beforeEach(async ({ page }) => {
  test.setTimeout(120_000)
  await signedIn(page)
})

test('a coupling: added, refused under a name that is taken, changed and renamed', async ({ page }) => {
  await open(page, 'couplings', 'Couplings')
  const dialog = page.getByRole('dialog')
  const [known] = await all<Coupling>(page, 'coupling')
  await press(page, /^Add a coupling$/)
  await expect(dialog.getByRole('button', { name: 'Add the coupling' })).toBeDisabled()
  await write(page, /^Name$/, known?.name ?? '')
  await press(page, /^Add the coupling$/)
  await expect(dialog.getByLabel('Name')).toHaveAccessibleDescription(/on the list already/)
  await readable(page, 'a coupling that is there already', false)
  await write(page, /^Name$/, named('old'))
  await write(page, /^Other spellings/, `zz ${run} coax`)
  await choose(page, /^Under pressure/, 'Never')
  await tabTo(page, new RegExp(`^${known?.name}$`))
  await page.keyboard.press('Space')
  await send(page, /^Add the coupling$/)
  const row = page
    .getByRole('region', { name: /couplings$/ })
    .getByRole('listitem')
    .filter({ has: page.locator('strong', { hasText: run }) })
  await expect(row).toContainText(
    `Never joined under pressure. 0 models carry it. Mates with its own and ${known?.name}.`,
  )

  await press(page, new RegExp(`^Change ?${named('old')}$`))
  await choose(page, /^Under pressure/, 'May')
  await send(page, /^Save$/)
  await expect(row).toContainText('May be joined under pressure')
  await press(page, new RegExp(`^Rename ?${named('old')}$`))
  await write(page, /^Name$/, COUPLING)
  await send(page, /^Rename it$/)
  await expect(row).toContainText(`Also written “zz ${run} coax” and “${named('old')}”.`)
  expect(await one<Coupling>(page, 'coupling', COUPLING)).toMatchObject({
    under_pressure: 'yes',
    mates_with: [known?.id],
  })
})

test('a model with two ratings: what is read stands under it, and what can be meant in two ways is asked about', async ({
  page,
}) => {
  await open(page, 'models', 'Models')
  await readable(page, 'models', false)
  const dialog = page.getByRole('dialog')
  const add = dialog.getByRole('button', { name: 'Add the model' })
  await press(page, /^Add a model$/)
  await write(page, /^Maker and model$/, MODEL)
  await choose(page, /^Kind/, 'Cutter')
  await choose(page, /^Coupling/, COUPLING)
  await choose(page, /^Fluid/, 'Mineral')
  await write(page, /^Pressure that it is rated at/, '10.500 psi')
  await expect(dialog.getByLabel(/^Pressure that/)).toHaveAccessibleDescription(/meant in two ways/)
  await expect(add).toBeDisabled()
  await press(page, /^10500 psi$/)
  await expect(dialog.getByLabel(/^Pressure that/)).toHaveAccessibleDescription(
    'Read as 10,500 psi (724 bar).',
  )
  await write(page, /^Standard of the figures/, 'NFPA 1936')
  await write(page, /^Its edition/, '2015')
  const opening = dialog.getByLabel(/^Cutter opening/)
  await write(page, /^Cutter opening/, '90 ft-lb')
  await expect(opening).toHaveAccessibleDescription(/“ft-lb” is not a unit of a length/)
  await expect(add).toBeDisabled()
  // It can be read, and no cutter opens so far: the server says so before anything is sent.
  await write(page, /^Cutter opening/, '8100 in')
  await expect(opening).toHaveAccessibleDescription(/cutter/)
  await expect(opening).toHaveAttribute('aria-invalid', 'true')
  await write(page, /^Cutter opening/, '8.1 in')
  await expect(opening).toHaveAccessibleDescription('Read as 8.1 in (206 mm), NFPA 1936, edition 2015.')
  await write(page, /^Cutting levels/, 'a8 b9 c8 d9 e9 [NFPA 1936; 2020]')
  await expect(dialog.getByLabel(/^Cutting levels/)).toHaveAccessibleDescription(
    /round bar 8, .*edition 2020/,
  )
  await readable(page, 'a model as it is typed', false)
  await send(page, /^Add the model$/)
  const nfpa = { standard: 'NFPA 1936', edition: '2015' }
  expect(await one<Model>(page, 'model', MODEL)).toMatchObject({
    kind: 'cutter',
    hookup: { coupling: COUPLING, fluid: 'mineral oil', pressure: { value: 10500, unit: 'psi' } },
    ratings: {
      cutter_opening: { value: 8.1, unit: 'in', ...nfpa },
      cutting_levels: { levels: 'A8/B9/C8/D9/E9', standard: 'NFPA 1936', edition: '2020' },
    },
  })

  await write(page, /^Name or kind$/, run)
  await press(page, new RegExp(`^Change ?${MODEL}$`))
  await expect(dialog.getByRole('button', { name: 'Save' })).toBeDisabled()
  await expect(opening).toHaveValue('8.1 in [NFPA 1936; 2015]')
  await write(page, /^Weight/, '41.5 lb')
  await send(page, /^Save$/)
  const row = page.getByRole('region', { name: /models$/ }).getByRole('listitem')
  await expect(row).toHaveCount(1)
  await expect(row).toContainText(
    `${COUPLING}; mineral oil; 10,500 psi; cutter opening 8.1 in; cutting levels A8 B9 C8 D9 E9; weight 41.5 lb.`,
  )
})

test('pieces: added one after the other, refused under a tag that is taken, changed', async ({ page }) => {
  await page.goto('/register')
  await press(page, /^Add a piece$/)
  await expect(page.getByRole('heading', { level: 1, name: 'Add a piece' })).toBeVisible()
  const [home] = await all<Station>(page, 'station')
  const [taken] = await all<Piece>(page, 'piece')
  await write(page, /^Tag, as it stands/, taken?.tag ?? '')
  await choose(page, /^Where it is/, `${home?.name}`)
  await choose(page, /^Model/, MODEL)
  await press(page, /^Add the piece$/)
  await expect(page.getByRole('alert')).toContainText(`A piece called '${taken?.tag}' is there already`)
  const added = page.getByRole('region', { name: 'Added just now' })
  for (const n of [1, 2, 3]) {
    await write(page, /^Tag, as it stands/, tag(n))
    await write(page, /^Serial number/, `Z${run}${n}`)
    await press(page, /^Add the piece$/)
    await expect(added).toContainText(tag(n))
    // The next one begins at its tag.
    await expect(page.getByLabel(/^Tag, as it stands/)).toBeFocused()
  }
  await readable(page, 'a new piece', false)
  await press(page, new RegExp(`^${tag(1)}$`))
  await press(page, /^Edit its record$/)
  const dialog = page.getByRole('dialog')
  await expect(dialog.getByRole('button', { name: 'Save' })).toBeDisabled()
  await write(page, /^Serial number/, `Y${run}`)
  await write(page, /^Note/, 'Bought used')
  await send(page, /^Save$/)
  await expect(page.getByText('Bought used', { exact: true })).toBeVisible()
  expect((await all<Piece>(page, 'piece')).find((piece) => piece.tag === tag(1))).toMatchObject({
    serial: `Y${run}`,
    place: { at: 'shelf', station: home?.id },
    home: { at: 'shelf', station: home?.id },
  })
})

test('a tool set: added with two pieces, one of them taken out again', async ({ page }) => {
  await open(page, 'sets', 'Tool sets')
  const name = named('set')
  await press(page, /^Add a tool set$/)
  await write(page, /^Name$/, name)
  const [home] = await all<Station>(page, 'station')
  await choose(page, /^Where it belongs/, `${home?.name}`)
  for (const n of [1, 2]) {
    await write(page, /^Search by tag/, tag(n))
    await tabTo(page, new RegExp(`^${tag(n)} cutter`))
    await page.keyboard.press('Space')
    // What is chosen moves over the search.
    await tabTo(page, /^Search by tag/)
  }
  await readable(page, 'a tool set', false)
  await send(page, /^Add the tool set$/)
  await write(page, /^Name, home or tag/, run)
  const row = page
    .getByRole('region', { name: /tool sets$/ })
    .getByRole('listitem')
    .filter({ hasText: name })
  await expect(row).toContainText(`2 pieces: ${tag(1)}, ${tag(2)}`)
  await press(page, new RegExp(`^Change ?${name}$`))
  await tabTo(page, new RegExp(`^${tag(2)} cutter`))
  await page.keyboard.press('Space')
  await send(page, /^Save$/)
  await expect(row).toContainText(`1 piece: ${tag(1)}`)
  const set = await one<ToolSet>(page, 'tool_set', name)
  const inIt = (await all<Piece>(page, 'piece')).filter((piece) => piece.tool_set === set?.id)
  expect(inIt.map((piece) => piece.tag)).toEqual([tag(1)])
})

test('many pieces: moved and moved back, given a day of service and back, exported, retired', async ({
  page,
}) => {
  await page.goto(`/register?q=zz${run}`)
  const mine = async () =>
    (await all<Piece>(page, 'piece')).filter((piece) => piece.tag.startsWith(`ZZ${run}`.toUpperCase()))
  await expect(page.getByRole('heading', { level: 1 })).toContainText(/^3 of /)
  const dialog = page.getByRole('dialog')
  const bar = page.getByRole('region', { name: 'The chosen pieces' })
  const stations = await all<Station>(page, 'station')
  const [from, to] = [stations[0], stations[1]]
  const places = async () => [
    ...new Set((await mine()).map(({ place }) => (place.at === 'shelf' ? place.station : place.at))),
  ]

  await tabTo(page, new RegExp(`^Choose ${tag(1)}$`))
  await page.keyboard.press('Space')
  await expect(bar).toContainText('1 piece chosen')
  await press(page, /^Choose all 2 of the list$/)
  await expect(bar).toContainText('3 pieces chosen')
  await readable(page, 'three pieces chosen', false)
  await press(page, /^Move$/)
  await choose(page, /^To/, `${to?.name}`)
  await tabTo(page, /^They are there already/)
  await page.keyboard.press('Space')
  await expect(dialog.locator('[aria-busy=true]')).toHaveCount(0)
  await press(page, /^Move them$/)
  await expect(dialog).toBeHidden({ timeout: 15_000 })
  await expect(page.getByText('3 pieces moved.')).toBeVisible()
  expect(await places()).toEqual([to?.id])
  await enter(page.getByRole('button', { name: 'Undo' }))
  await expect(page.getByText('3 pieces back where they were.')).toBeVisible({ timeout: 15_000 })
  expect(await places()).toEqual([from?.id])

  await press(page, /^Choose all 3 of the list$/)
  await press(page, /^Last service$/)
  await writeDate(page, /^Day of the service/, dayFrom(-40))
  await write(page, /^Why, as the record keeps it/, 'Paper of the shop')
  await press(page, /^Put it on record$/)
  await expect(page.getByText('3 pieces changed.')).toBeVisible({ timeout: 15_000 })
  expect((await mine()).map((piece) => piece.last_service_on)).toEqual(Array(3).fill(dayFrom(-40)))
  await enter(page.getByRole('button', { name: 'Undo' }))
  await expect(page.getByText('3 pieces without a service on record again.')).toBeVisible({ timeout: 15_000 })
  expect((await mine()).map((piece) => piece.last_service_on ?? null)).toEqual([null, null, null])

  // What is shown, as a file that the import reads as what it is.
  const waiting = page.waitForEvent('download')
  await press(page, /^Export these 3$/)
  const file = await (await waiting).createReadStream()
  const text = (await file.toArray()).map(String).join('')
  expect(
    text
      .trim()
      .split('\r\n')
      .map((line) => line.replace(/^\ufeff/, '').split(',')[0]),
  ).toEqual(['Asset tag', tag(1), tag(2), tag(3)])
  const dry = await page.evaluate(async (body) => {
    const headers = { 'content-type': 'text/csv' }
    const reply = await fetch('/v1/imports?dry_run=true&file_name=shown.csv', {
      method: 'POST',
      headers,
      body,
    })
    return (await reply.json()) as { creates: Record<string, number> }
  }, text)
  expect(dry.creates).toMatchObject({ models: 0, couplings: 0, stations: 0, rigs: 0 })

  await press(page, /^Choose all 3 of the list$/)
  await press(page, /^Retire$/)
  await expect(dialog).toContainText('Nothing brings them back.')
  await write(page, /^Why/, 'End of test')
  await write(page, /^How they were made unusable/, 'Blades taken out')
  await readable(page, 'three pieces to retire', false)
  await press(page, /^Retire them for good$/)
  await expect(page.getByText('3 pieces retired. Their tags are never used again.')).toBeVisible({
    timeout: 15_000,
  })
  await expect(page.getByRole('button', { name: 'Undo' })).toBeHidden()
  expect((await mine()).map((piece) => piece.state)).toEqual(['retired', 'retired', 'retired'])
  await expect(page.getByLabel(`Choose ${tag(1)}`)).toBeHidden()
})

test('a rule of the agency’s own: stricter, looser with its reason, and back to the table', async ({
  page,
}) => {
  await open(page, 'releases', 'Defects and returns')
  const dialog = page.getByRole('dialog')
  await choose(page, /^Kind/, 'Spreader')
  await choose(page, /^Defect/, 'Bent')
  const row = page.getByRole('region', { name: /rules$/ }).getByRole('listitem')
  await expect(row).toHaveCount(1)
  await readable(page, 'rules on defects', false)
  await press(page, /^Change ?Spreader: bent or deformed$/)
  await choose(page, /^Whose word its return takes/, 'the maker')
  await send(page, /^Decide it so$/)
  await expect(row).toContainText('the maker’s service')
  await expect(row).toContainText('Our own rule')
  // Less than it was needs a reason, which the server asks for at its field.
  await press(page, /^Change ?Spreader: bent or deformed$/)
  await tabTo(page, /^Clear our own rule/)
  await page.keyboard.press('Space')
  await write(page, /^Why, as the record keeps it/, '')
  await press(page, /^Go back to the table$/)
  await expect(dialog).toContainText(/looser than it was\. Write why/)
  await write(page, /^Why, as the record keeps it/, 'A form is tried')
  await press(page, /^Go back to the table$/)
  await expect(dialog).toBeHidden({ timeout: 15_000 })
  await expect(row).not.toContainText('Our own rule')
  expect((await all<Agency>(page, 'agency'))[0]?.release_rules).toEqual([])
})

test('a locked PIN is opened again, and the shop records what it has flushed', async ({ page }) => {
  const shop = new Client({ base: originOf(page), keys: ephemeral() })
  expect((await shop.signIn(SHOP, PASSWORD)).ok).toBe(true)
  await push(shop, prepare([{ kind: 'member.set_pin', body: { pin: '408193' } }]))
  const mechanic = (await all<Member>(page, 'member')).find((member) => member.email === SHOP)
  await open(page, 'people', 'People')
  await write(page, /^Name or e-mail/, SHOP)
  await press(page, new RegExp(`^Open the PIN: ${mechanic?.name}$`))
  await expect(page.getByText(`${mechanic?.name} can sign with the PIN again.`)).toBeVisible()

  // A piece on a shelf, out of service, and a model of its kind with another fluid.
  const models = await all<Model>(page, 'model')
  const wet = models.find((model) => model.kind === 'cutter' && model.hookup.fluid === 'mineral oil')
  const other = named('ester cutter')
  const [station] = await all<Station>(page, 'station')
  const ids = [1, 2].map((n) => `0193${Date.now().toString(16).slice(-4)}-0000-7000-8000-00000000000${n}`)
  const made = [
    await command(page, 'model.add', {
      id: ids[0],
      name: other,
      kind: 'cutter',
      hookup: { ...wet?.hookup, fluid: 'phosphate ester' },
    }),
    await command(page, 'piece.add', {
      id: ids[1],
      tag: tag(9),
      model: wet?.id,
      place: { at: 'shelf', station: station?.id },
    }),
    await command(page, 'piece.take_out', { id: ids[1], reason: 'To be flushed' }),
  ]
  expect(made.map((answer) => answer?.outcome)).toEqual(['applied', 'applied', 'applied'])
  await page.context().clearCookies()
  await page.goto('/')
  await page.getByLabel('E-mail').fill(SHOP)
  await page.getByLabel('Password').fill(PASSWORD)
  await page.keyboard.press('Enter')
  await expect(page.getByText('Live', { exact: true })).toBeVisible()
  await page.goto(`/pieces/${ids[1]}`)
  await press(page, /^Record a change of fluid$/)
  const dialog = page.getByRole('dialog')
  await expect(dialog).toContainText('On record: mineral oil.')
  await choose(page, /^It is this model from now on/, other)
  await write(page, /^Who flushed it/, 'By the maker’s sheet, twice')
  await readable(page, 'another fluid', false)
  await send(page, /^Record it$/)
  await expect(page.getByText(`${tag(9)} holds another fluid on record.`)).toBeVisible()
  await expect(page.getByRole('heading', { level: 1 })).toContainText(tag(9))
})
