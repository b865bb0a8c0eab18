// A field trial: opened at the desk, filled in on two phones, one of them without a signal, blind until the own sheets are in, then read
// with its spread, closed, printed and taken away as a file.
import type { Browser, Page } from '@playwright/test'
import { readFile } from 'node:fs/promises'
import type { FieldTrialResult, TrialAnswer } from '../src/api/types'
import { answer, EMAIL, feed, originOf, PASSWORD, records, SHOP, signIn } from './helpers'
import { pagesOfPdf } from './paper'
import { looks, readable } from './readable'
import { expect, test } from './test'

/** Demo members by what they are called. */
const CREW = { email: EMAIL.replace(/^[^@]+/, 'crew'), name: 'Pia Lindqvort' }
const MECHANIC = { email: SHOP, name: 'Gus Aldecott' }
const TOOLS = ['Thornmere BC 6', 'Wendlebury E 40'] as const

/** A phone of somebody else, signed in. */
async function phoneOf(browser: Browser, origin: string, email: string) {
  const context = await browser.newContext({
    baseURL: origin,
    serviceWorkers: 'block',
    viewport: { width: 390, height: 844 },
  })
  const data = { email, password: PASSWORD, browser: true }
  const reply = await context.request.post(`${origin}/v1/session`, { headers: { origin }, data })
  expect(reply.status(), await reply.text()).toBe(200)
  return { context, page: await context.newPage() }
}

async function openTrial(page: Page, name: string) {
  await page.goto('/programme/trials')
  await page.getByRole('link', { name: 'Open a trial' }).first().click()
  await page.getByLabel('What the trial is called').fill(name)
  for (const [n, tool] of TOOLS.entries()) {
    await page.getByLabel(`Candidate ${n + 1}: maker and model`).fill(tool)
    await page.getByLabel(`Kind of candidate ${n + 1}`).selectOption({ label: 'Combination tool' })
  }
  const ask = async (n: number, text: string, weight: string) => {
    await page.getByLabel(`Question ${n}: what is asked`).fill(text)
    await page.getByLabel(`1 means, question ${n}`).fill('cannot be done')
    await page.getByLabel(`5 means, question ${n}`).fill('done at once')
    await page.getByLabel(`Weight, 1 to 10, question ${n}`).fill(weight)
  }
  await ask(1, 'Grip with wet gloves', '3')
  await page.getByRole('button', { name: 'Add a question' }).click()
  await ask(2, 'Turned overhead', '1')
  await page.getByRole('button', { name: 'Add: weight' }).click()
  await page.getByLabel('Weight 1: how it is measured').fill('On the scale, with its pack')
  await page.getByLabel('Unit 1').selectOption('kg')
  for (const { name } of [CREW, MECHANIC]) {
    await page.getByLabel('Find a member').fill(name)
    await page.getByRole('checkbox', { name: new RegExp(name) }).check()
  }
  await readable(page, 'the form of a trial', false)
  await page.getByRole('button', { name: 'Open the trial' }).click()
  await expect(page.getByRole('heading', { level: 1, name: `Field trial: ${name}` })).toBeVisible()
  return new URL(page.url()).pathname.split('/').at(-1) ?? ''
}

/** Fills in the sheet about a tool, a question a screen; null is no answer. */
async function fillIn(page: Page, tool: string, points: (number | null)[], why: string, reading = '') {
  await page.getByRole('button', { name: `: ${tool}` }).click()
  for (const [n, given] of points.entries()) {
    await expect(page.getByRole('heading', { level: 1 })).toHaveText(
      n ? 'Turned overhead' : 'Grip with wet gloves',
    )
    await page
      .getByRole('button', {
        name: given === null ? 'I cannot say: no answer' : String(given),
        exact: true,
      })
      .click()
    if (n === 0 && why) await page.getByLabel('Why, in a few words').fill(why)
    await page.getByRole('button', { name: 'Next', exact: true }).click()
  }
  await expect(page.getByRole('heading', { level: 1 })).toHaveText('Weight')
  if (reading) {
    await page.getByLabel(/^Reading 1/).fill('19,400')
    await expect(page.getByText('can be meant in two ways')).toBeVisible()
    await page.getByLabel(/^Reading 1/).fill(reading)
    await page.getByRole('button', { name: 'Take this reading' }).click()
    await expect(page.getByRole('listitem').filter({ hasText: '19.4 kg' })).toBeVisible()
  }
  await page.getByRole('button', { name: 'Next', exact: true }).click()
  await page.getByRole('button', { name: 'Hand it in' }).click()
  await expect(page.getByRole('heading', { level: 1, name: /your sheets$/ })).toBeVisible()
}

test('two evaluators answer blind, the coordinator sees spread and dissent, closes, prints and takes the file', async ({
  page,
  browser,
}) => {
  test.setTimeout(150_000)
  await signIn(page)
  const name = `Combination tools ${Date.now()}`
  const id = await openTrial(page, name)
  await expect(page.getByText('Nobody has handed in a sheet yet.')).toBeVisible()

  const pia = await phoneOf(browser, originOf(page), CREW.email)
  await pia.page.goto(`/trials/${id}`)
  await expect(pia.page.getByRole('heading', { level: 1, name: `${name}: your sheets` })).toBeVisible()
  await fillIn(pia.page, TOOLS[0], [5, 4], 'Sits even when wet', '19.4')
  await pia.context.setOffline(true)
  await fillIn(pia.page, TOOLS[1], [2, null], 'Slips out of the glove')
  await expect(pia.page.getByText('Handed in on this phone')).toBeVisible()
  await readable(pia.page, 'the sheets of an evaluator', true)
  await pia.context.setOffline(false)
  await expect
    .poll(
      async () =>
        records<TrialAnswer>(await feed(page), 'trial_answer').filter((one) => one.trial === id).length,
    )
    .toBe(2)

  // The other one sees nothing of it, on the screen or from the service, until both of his own are in.
  const gus = await phoneOf(browser, originOf(page), MECHANIC.email)
  await gus.page.goto(`/programme/trials/${id}`)
  await expect(gus.page.getByText('The answers are not shown to you yet.')).toBeVisible()
  await expect(gus.page.getByText('Slips out of the glove')).toHaveCount(0)
  const held = JSON.stringify(await answer<FieldTrialResult>(gus.page, `/v1/field-trials/${id}/result`))
  expect(held).not.toContain('Slips out')
  await readable(gus.page, 'a trial that is held back', true)
  await gus.page.getByRole('link', { name: 'Fill in your sheets' }).click()
  await fillIn(gus.page, TOOLS[0], [4, 4], '')
  await fillIn(gus.page, TOOLS[1], [4, 3], 'Fits the thick glove')
  await gus.page.getByRole('link', { name: 'The trial and what it comes to' }).click()
  await expect(gus.page.getByText(/Slips out of the glove/).first()).toBeVisible()

  // By hand: (3*5 + 4)/4 = 4.75 and 4; 2 of the one that was answered and (3*4 + 3)/4 = 3.75.
  const stand = page.getByRole('region', { name: 'What it comes to' })
  const row = (tool: string) => stand.getByRole('row').filter({ hasText: tool })
  await expect(row(TOOLS[0])).toContainText('4 to 4.75')
  await expect(row(TOOLS[0])).toContainText('4.38')
  await expect(row(TOOLS[1])).toContainText('2 to 3.75')
  await expect(row(TOOLS[1])).toContainText('not told')
  const apart = page.getByRole('region', { name: 'Where evaluators see it differently' })
  await expect(apart.getByRole('listitem')).toHaveCount(1)
  await expect(apart).toContainText(`${CREW.name}: 2 of 5, “Slips out of the glove”`)
  await expect(apart).toContainText(`${MECHANIC.name}: 4 of 5, “Fits the thick glove”`)
  await expect(page.getByRole('region', { name: 'What was measured' })).toContainText('19.4')
  await readable(page, 'what a trial comes to', false)

  await page.getByRole('button', { name: 'Close it' }).click()
  const dialog = page.getByRole('dialog')
  await dialog.getByLabel(/^What the agency takes from it/).fill('Try both for a week on Engine 25')
  await dialog.getByRole('button', { name: 'Close it' }).click()
  await expect(dialog).toBeHidden()
  await expect(page.getByText('“Try both for a week on Engine 25”')).toBeVisible()
  await expect(page.getByRole('button', { name: 'Close it' })).toHaveCount(0)

  const saving = page.waitForEvent('download')
  await page.getByRole('button', { name: 'Download as a spreadsheet' }).click()
  const file = await readFile(await (await saving).path(), 'utf8')
  for (const words of [
    'no answer',
    'Slips out of the glove',
    CREW.name,
    '4.75',
    'Try both for a week',
    '19.4',
  ])
    expect(file).toContain(words)
  const printed = pagesOfPdf(await page.pdf({ format: 'Letter' })).join('')
  for (const words of ['Slipsoutoftheglove', 'PiaLindqvort', 'Closed', 'TamarrowCounty'])
    expect(printed).toContain(words)
  await pia.context.close()
  await gus.context.close()
})

for (const { size, scheme } of looks('phone', 'desk'))
  test(`the pages of trials are readable, on a ${size.name}, ${scheme}`, async ({ page }) => {
    await page.setViewportSize(size)
    await page.emulateMedia({ colorScheme: scheme, reducedMotion: 'reduce' })
    await signIn(page)
    await page.goto('/programme/trials')
    await readable(page, 'the list of trials', size.name === 'phone')
    await page.getByRole('link', { name: 'Combination tools for stations 3 and 25' }).click()
    await expect(page.getByText('too close to tell').first()).toBeVisible()
    await readable(page, 'a trial that is over', size.name === 'phone')
  })
