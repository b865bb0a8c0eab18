// Who is on a rig: said in a few taps, shown with what nobody aboard is signed off on, and never part of the level.
import type { CrewsNow, Member, Rig } from '../src/api/types'
import { answer, feed, records, signedIn } from './helpers'
import { readable } from './readable'
import { expect, test } from './test'

test('a crew is named at the relief, and what nobody is signed off on stands beside the level', async ({
  page,
}) => {
  await signedIn(page)
  const changes = await feed(page)
  const members = records<Member>(changes, 'member').filter((one) => one.active)
  const manned = new Set(members.map((one) => one.station))
  const rig = records<Rig>(changes, 'rig').find(
    (one) => one.in_service && one.duty === 'front_line' && manned.has(one.station),
  )
  expect(rig, 'a rig whose station has a member').toBeDefined()
  await page.goto(`/rigs/${rig?.id}`)
  const card = page.getByRole('region', { name: 'Crew' })
  await card.getByRole('button', { name: /Say who is aboard|Change the crew/ }).click()
  const dialog = page.getByRole('dialog')
  await readable(page, 'crew', false)
  const aboard = dialog.getByRole('checkbox', { checked: true })
  while (await aboard.count()) await aboard.first().uncheck()
  const box = dialog.getByRole('checkbox').first()
  const name = members.find((one) => one.station === rig?.station)?.name ?? ''
  await box.check()
  await dialog.getByRole('button', { name: '1 aboard' }).click()
  await expect(dialog).toBeHidden()
  await expect(card).toContainText(/until/)
  const named = members.filter((one) => one.station === rig?.station).map((one) => one.name)
  expect(named).toContain(name)
  await expect(card).toContainText(new RegExp(named.map((one) => one.replace(/[^\w ]/g, '.')).join('|')))
  // What the service says of sign-offs is what the card says.
  const { items } = await answer<CrewsNow>(page, '/v1/crews/now')
  const said = items.find((one) => one.rig === rig?.id)?.unsigned.map((one) => one.words) ?? []
  for (const words of said) await expect(card).toContainText(words.slice(1))
  if (said.length) await expect(card).toContainText('The level does not count this')
  // The board says it beside the level, and who is on where there is room.
  const front = new Set(
    records<Rig>(changes, 'rig')
      .filter((one) => one.in_service && one.duty === 'front_line')
      .map((one) => one.id),
  )
  const flagged = items.find((one) => one.unsigned.length && front.has(one.rig))
  expect(flagged, 'a crew of which nobody is signed off on something').toBeDefined()
  await page.goto(`/?q=${encodeURIComponent(flagged?.name ?? '')}`)
  const row = page
    .getByRole('listitem')
    .filter({ has: page.getByRole('link', { name: flagged?.name, exact: true }) })
  const flag = row.getByText(/^Nobody aboard is signed off on /)
  await expect(flag).toBeVisible()
  await expect(row.getByText(new RegExp(`${flagged?.members[0]?.name}.* until .*\\d:\\d\\d`))).toBeVisible()
  await expect(row.locator('.mark').first()).not.toContainText(/signed off/)
  await page.setViewportSize({ width: 390, height: 844 })
  await expect(flag).toBeVisible()
  await readable(page, 'the crew on the board, on a phone', true)
})
