// A change of shift: given at the desk as it was read, taken on a phone by somebody else, and still there as it was.
import type { Handover, Member, Station } from '../src/api/types'
import { EMAIL, feed, originOf, PASSWORD, records, signIn } from './helpers'
import { readable } from './readable'
import { expect, test } from './test'

/** A crew member of the demo, by name. */
const CREW = { email: EMAIL.replace(/^[^@]+/, 'crew'), name: 'Pia Lindqvort' }

test('a shift is given as it was read, and taken by somebody else', async ({ page, browser }) => {
  test.setTimeout(120_000)
  await signIn(page)
  const changes = await feed(page)
  const member = records<Member>(changes, 'member').find((one) => one.name === CREW.name)
  const station = records<Station>(changes, 'station').find((one) => one.id === member?.station)
  if (!station) throw new Error('the crew member has no station')
  await page.goto(`/handover?of=s/${station.id}`)
  const signed = page.getByRole('region', { name: 'Given and taken' })
  await expect(signed).toContainText(/No handover of|Given/)
  await readable(page, 'a handover', false)

  await signed.getByRole('button', { name: `Hand ${station.name} over` }).click()
  const dialog = page.getByRole('dialog')
  const note = `The ram is promised for four, ${Date.now()}`
  await dialog.getByLabel(/^What else the next shift should know/).fill(note)
  await dialog.getByRole('button', { name: 'Hand it over' }).click()
  await expect(dialog).toBeHidden()
  await expect(signed).toContainText('Nobody has taken it yet.')
  // Who gave it does not take it.
  await expect(signed.getByRole('button', { name: 'I have read it and take over' })).toHaveCount(0)
  await expect(signed.getByRole('button', { name: 'Withdraw it' })).toBeVisible()
  const handover = async () =>
    records<Handover>(await feed(page), 'handover').find((one) => one.id === station.id)
  const given = await handover()
  expect(given?.parts.map((part) => part.title)).toContain('Expected back')
  expect(given?.parts.find((part) => part.title.startsWith('Stand-ins begun'))?.lines.length).toBeGreaterThan(
    0,
  )

  // What is folded on the screen stands open on paper, and folds again.
  const copied = signed.getByRole('heading', { level: 3, name: 'Expected back' })
  await expect(copied).toBeHidden()
  await page.evaluate(() => window.dispatchEvent(new Event('beforeprint')))
  await expect(copied).toBeVisible()
  await page.evaluate(() => window.dispatchEvent(new Event('afterprint')))
  await expect(copied).toBeHidden()

  const context = await browser.newContext({
    baseURL: originOf(page),
    serviceWorkers: 'block',
    viewport: { width: 390, height: 844 },
  })
  const data = { email: CREW.email, password: PASSWORD, browser: true }
  const reply = await context.request.post(`${originOf(page)}/v1/session`, {
    headers: { origin: originOf(page) },
    data,
  })
  expect(reply.status(), await reply.text()).toBe(200)
  const phone = await context.newPage()
  await phone.goto('/handover')
  const here = phone.getByRole('region', { name: 'Given and taken' })
  await expect(here).toContainText(note)
  // It stands open before the button, and its own shift is not asked twice.
  await expect(here.getByText('What was read then')).toBeVisible()
  await expect(here.getByRole('heading', { level: 3, name: 'Expected back' })).toBeVisible()
  await readable(phone, 'a handover to take', true)
  await here.getByRole('button', { name: 'I have read it and take over' }).click()
  await expect(here).toContainText(CREW.name)
  await expect(here.getByRole('button', { name: 'I have read it and take over' })).toHaveCount(0)

  await expect(signed).toContainText(`by ${CREW.name}`)
  await expect(signed.getByRole('button', { name: 'Withdraw it' })).toHaveCount(0)
  const taken = await handover()
  expect([taken?.state, taken?.parts]).toEqual(['taken', given?.parts])
  await context.close()
})
