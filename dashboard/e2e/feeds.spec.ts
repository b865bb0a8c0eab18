// A calendar's address: made by the keyboard, shown once, read by whoever has it, and dead when it is revoked.
import type { Station } from '../src/api/types'
import { feed, records, signIn } from './helpers'
import { choose, enter, press, write } from './keys'
import { readable } from './readable'
import { expect, test } from './test'

test('a station’s checks are read at an address until it is revoked', async ({ page, playwright }) => {
  await signIn(page, '/calendar')
  const [station] = records<Station>(await feed(page), 'station').toSorted((a, b) =>
    a.name < b.name ? -1 : 1,
  )
  const name = `Kitchen ${Date.now().toString(36).slice(-5)}`
  const dialog = page.getByRole('dialog')
  const section = page.getByRole('region', { name: 'Checks in your own calendar' })
  await enter(section.getByRole('button', { name: 'Make an address' }))
  await choose(page, /^Whose checks/, station?.name ?? '')
  await write(page, /^Who reads it/, name)
  await expect(dialog).toContainText('Whoever has the address can read these checks, without signing in.')
  await readable(page, 'a calendar address', false)
  await press(page, /^Make the address$/)
  const line = dialog.getByText(/\/v1\/calendars\/[\w-]{43}\/checks\.ics$/)
  const address = (await line.textContent()) ?? ''
  await press(page, /^Copy$/)
  await expect(dialog.getByRole('status').first()).toHaveText(/Copied|copy it by hand/)
  await page.keyboard.press('Escape')
  await expect(dialog).toBeHidden()

  const anyone = await playwright.request.newContext()
  const read = () => anyone.get(address)
  const there = await read()
  expect(there.headers()['content-type']).toContain('text/calendar')
  expect((await there.text()).replace(/\r\n /g, '')).toContain(`Checks: ${station?.name}`)

  const row = section.getByRole('listitem').filter({ hasText: name })
  await expect(row).toContainText(`checks of ${station?.name}`)
  await page.setViewportSize({ width: 390, height: 844 })
  await readable(page, 'the calendar with its addresses, on a phone', true)
  await enter(row.getByRole('button', { name: /^Revoke/ }))
  await expect(dialog).toContainText('for good')
  await press(page, /^Revoke it$/)
  await expect(dialog).toBeHidden()
  await expect(section.getByRole('button', { name: new RegExp(`^Revoke ?${name}$`) })).toHaveCount(0)
  await enter(section.getByText(/^Revoked \(\d+\)$/))
  await expect(row).toContainText(/revoked \d\d:\d\d by /)
  expect((await read()).status()).toBe(404)
  await anyone.dispose()
})
