// Telling dispatch, by the keyboard: a receiver and its secret, a change that nobody could be told of, what stays on the board until it
// is acknowledged, and the end.
import type { Alert, Receiver } from '../src/api/types'
import { answer, command, fullRig, giveBack, signedIn } from './helpers'
import { enter, press, write } from './keys'
import { readable } from './readable'
import { expect, test } from './test'

const PHONE = { width: 390, height: 844 }
const DESK = { width: 1440, height: 900 }
const name = `Desk ${Date.now().toString(36).slice(-5)}`

test('a receiver is added, told, acknowledged on the board, and withdrawn', async ({ page }) => {
  test.setTimeout(90_000)
  await signedIn(page)
  const { rig, piece } = await fullRig(page)
  const open = async () => (await answer<{ items: Alert[] }>(page, '/v1/alerts?state=open&limit=500')).items
  await page.goto('/programme/dispatch')
  const receivers = page.getByRole('region', { name: 'Receivers' })
  const row = receivers.getByRole('listitem').filter({ hasText: name })
  const dialog = page.getByRole('dialog')
  const ofRig = { has: page.getByRole('link', { name: rig.name, exact: true }) }

  await press(page, /^Add a receiver$/)
  await expect(dialog).toContainText('Every member can read this address')
  await write(page, /^Name, as you call them/, name)
  await write(page, /^Address that takes web messages/, 'https://10.1.2.3/fullset')
  await press(page, /^Add the receiver$/)
  await expect(dialog.getByLabel(/^Address/)).toHaveAccessibleDescription(/private network/)
  await write(page, /^Address that takes web messages/, 'https://desk.tamarrow.example/')
  await readable(page, 'a new receiver', false)
  await press(page, /^Add the receiver$/)
  await expect(dialog).toContainText('It is shown this once.')
  await expect(dialog.getByText(/^whsec_[\w+/]{43}=$/)).toBeVisible()
  await press(page, /^Copy$/)
  await expect(dialog.getByRole('status')).toHaveText(/Copied|copy it by hand/)
  await page.keyboard.press('Escape')
  await expect(row).toContainText('Is told')
  await expect(row).toContainText('There was nothing to tell it yet.')

  // Switched off it is told nothing, and that is said wherever it counts.
  await enter(row.getByRole('button', { name: /^Switch off/ }))
  await write(page, /^Why, as the record keeps it/, 'Their machine moves')
  await press(page, /^Switch it off$/)
  await expect(row).toContainText('“Their machine moves”')
  const out = await command(page, 'piece.take_out', { id: piece.id, reason: 'Bent' })
  expect(out?.outcome, JSON.stringify(out)).toBe('applied')
  try {
    await page.goto('/')
    const told = page.getByRole('region', { name: /^Told and not acknowledged yet/ })
    const fallen = told.getByRole('listitem').filter(ofRig)
    await expect(fallen).toContainText(/since \d\d:\d\d, full before/)
    await expect(fallen).toContainText('Not told')
    await expect(fallen).toContainText('Tell them by telephone or radio.')
    await page.setViewportSize(PHONE)
    await readable(page, 'the board with what was told, on a phone', true)
    await page.setViewportSize(DESK)

    await page.goto('/programme/dispatch?show=missed')
    await enter(row.getByRole('button', { name: /^Switch on/ }))
    await expect(row).toContainText('Is told')
    const line = page.getByRole('region', { name: 'What was told' }).getByRole('listitem')
    const missed = line.filter(ofRig).first()
    await expect(missed).toContainText('Not told')
    await enter(missed.getByRole('button', { name: new RegExp(`^Send again ?: .* to ${name}$`) }))
    await expect(page.getByText(`${rig.name} is sent to ${name} again.`)).toBeVisible()
    await page.setViewportSize(PHONE)
    await readable(page, 'what was told, on a phone', true)
    await page.setViewportSize(DESK)

    await page.goto('/')
    await enter(fallen.getByRole('button', { name: /^Acknowledge/ }))
    await write(page, /^How, and who said so/, 'By telephone, desk 3')
    await press(page, /^Acknowledge( \d+ changes)?$/)
    await expect(page.getByText(`Acknowledged: ${rig.name}.`)).toBeVisible()
    await expect(fallen).toHaveCount(0)
    expect((await open()).filter((one) => one.rig === rig.id)).toEqual([])

    await page.goto('/programme/dispatch')
    await expect(line.filter({ hasText: 'By telephone, desk 3' }).first()).toBeVisible()
    await enter(row.getByRole('button', { name: /^Withdraw/ }))
    await write(page, /^Why, as the record keeps it/, 'End of test')
    await press(page, /^Withdraw it$/)
    await expect(page.getByText(`${name} is withdrawn.`)).toBeVisible()
    await expect(row).toHaveCount(0)
  } finally {
    // What a failure leaves must not tell of other tests.
    const { items } = await answer<{ items: Receiver[] }>(page, '/v1/receivers?limit=500')
    const left = items.find((one) => one.name === name && !one.withdrawn_at)
    if (left) await command(page, 'receiver.withdraw', { id: left.id, reason: 'End of test' }, left.rev)
    await giveBack(page, piece.id)
  }
})

test('e-mail is not offered where the service sends none, and the page of a desk says what a link lacks', async ({
  page,
}) => {
  await signedIn(page)
  await page.goto('/programme/dispatch')
  const dialog = page.getByRole('dialog')
  await press(page, /^Add a receiver$/)
  const byMail = dialog.getByLabel('How they are told').locator('option', { hasText: 'E-mail' })
  await expect(byMail).toBeDisabled()
  await expect(dialog).toContainText('This service sends no e-mail yet; whoever runs it can set that up.')
  await readable(page, 'a new receiver where no e-mail is sent', false)

  await page.goto('/acknowledge')
  await expect(page.getByRole('status')).toContainText('This link is not whole.')
  await page.goto('/acknowledge?of=mail#not-a-code-that-was-sent')
  await page.setViewportSize(PHONE)
  await readable(page, 'the page that acknowledges', true)
  await write(page, /^Your desk, or your name$/, 'Desk 3')
  await press(page, /^We have read it$/)
  await expect(page.getByRole('status')).toContainText('No message has this code')
})
