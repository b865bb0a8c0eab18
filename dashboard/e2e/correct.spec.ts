// A use that was written down wrongly: found on the rig, corrected without a signal, sent, and taken back as no use at all.
import type { Use } from '../src/api/types'
import { uuid7 } from '../src/api/uuid'
import { answer, command, fullRig, signedIn, tabTo } from './helpers'
import { enter, press, write } from './keys'
import { readable } from './readable'
import { expect, test } from './test'

test('a use is corrected on a phone without a signal', async ({ page, context }) => {
  test.setTimeout(60_000)
  await page.setViewportSize({ width: 390, height: 844 })
  await signedIn(page)
  const { rig, standing } = await fullRig(page)
  const [one, other] = [...new Set(standing.fillings.map((filling) => filling.piece))]
  const use = uuid7()
  const body = { id: use, rig: rig.id, pieces: [one, other], minutes: 30, what: 'Zz drill' }
  const recorded = await command(page, 'use.record', body)
  expect(recorded?.outcome, JSON.stringify(recorded)).toBe('applied')
  const [tag, kept] = await Promise.all(
    [one, other].map(async (id) => (await answer<{ tag: string }>(page, `/v1/pieces/${id}`)).tag),
  )

  await page.goto(`/pieces/${one}`)
  const journal = page.getByRole('region', { name: 'What happened to it' })
  await expect(journal.getByRole('link', { name: /^Correct it/ }).first()).toHaveAttribute(
    'href',
    `/rigs/${rig.id}/use?correct=${use}`,
  )
  await page.goto(`/rigs/${rig.id}`)
  const lately = page.getByRole('region', { name: 'Used lately' }).getByRole('listitem')
  await enter(lately.filter({ hasText: 'Zz drill' }).getByRole('link', { name: /^Correct it/ }))
  const dialog = page.getByRole('dialog')
  await expect(dialog).toContainText('What it says now stays on record.')
  await readable(page, 'the correction of a use', true)

  await context.setOffline(true)
  await tabTo(page, new RegExp(`^${tag} `))
  await page.keyboard.press('Space')
  await expect(dialog).toContainText(`${tag}: as before this use.`)
  await write(page, /^Minutes/, '12')
  await write(page, /^Why, as the record keeps it/, 'Only the second one')
  await press(page, /^Correct it$/)
  await expect(dialog).toBeHidden({ timeout: 15_000 })
  const line = page
    .getByRole('region', { name: 'Lately on this rig' })
    .getByRole('listitem')
    .filter({ hasText: 'Zz drill' })
  await expect(line).toContainText('12 min')
  await expect(line).toContainText('Only the second one')
  await expect(line).toContainText('waiting on this phone')

  await context.setOffline(false)
  await expect(line).not.toContainText('waiting on this phone', { timeout: 20_000 })
  await expect(line).toContainText(kept ?? '?')
  expect(await answer<Use>(page, `/v1/uses/${use}`)).toMatchObject({
    pieces: [other],
    minutes: 12,
    corrected: { reason: 'Only the second one' },
  })

  // It was no use at all: the rig is as the next test needs it.
  await enter(line.getByRole('button', { name: /^Correct it/ }))
  await tabTo(page, new RegExp(`^${kept} `))
  await page.keyboard.press('Space')
  await expect(dialog).toContainText('then nothing was used after all')
  await write(page, /^Why, as the record keeps it/, 'End of test')
  await press(page, /^Correct it$/)
  await expect(line).toContainText('nothing was used after all')
  await expect(line).not.toContainText('waiting on this phone')
  expect((await answer<Use>(page, `/v1/uses/${use}`)).pieces).toEqual([])
})
