// Near misses: told at the piece, looked into by who keeps the programme, and the lists beside them.
import type { Piece } from '../src/api/types'
import { feed, records, signIn } from './helpers'
import { looks, readable } from './readable'
import { expect, test } from './test'

test('a near miss is told at the piece and looked into', async ({ page }) => {
  await signIn(page)
  const piece = records<Piece>(await feed(page), 'piece').find(
    (one) => one.kind === 'cutter' && one.place.at === 'rig' && one.state === 'in_service',
  )
  if (!piece) throw new Error('no cutter aboard')
  const what = `Blade slipped off the post ${Date.now()}`
  await page.goto(`/pieces/${piece.id}`)
  await page.getByRole('link', { name: 'Near miss or injury with it' }).click()
  await expect(page.getByRole('heading', { level: 1, name: 'A near miss or an injury' })).toBeVisible()
  const send = page.getByRole('button', { name: 'Report it' })
  await expect(send).toBeDisabled()
  await page.getByLabel('Near miss', { exact: true }).check()
  await page.getByLabel(/^What happened/).fill(what)
  await page.getByLabel('What was being done').selectOption('training')
  await page.getByLabel(/^Time/).fill('00:01')
  await page.getByLabel(/^Where else/).fill('Training ground')
  await expect(page.getByRole('checkbox', { name: new RegExp(piece.tag) })).toBeChecked()
  await page.getByRole('checkbox', { name: /out of service until/ }).uncheck()
  await send.click()
  const row = page.getByRole('listitem').filter({ hasText: what })
  await expect(row).toContainText('Near miss')
  await expect(row).toContainText('At a drill')
  await expect(row).toContainText('Training ground')
  await expect(row.getByRole('link', { name: piece.tag })).toBeVisible()
  await expect(page.getByRole('region', { name: 'Checks to go and look at' })).toBeVisible()
  await row.getByRole('button', { name: /^It is looked into/ }).click()
  const dialog = page.getByRole('dialog')
  await dialog.getByLabel(/^What was found/).fill('Grip was wet; drill repeated dry')
  await dialog.getByRole('button', { name: 'It is looked into' }).click()
  await expect(dialog).toBeHidden()
  await expect(row).toContainText('“Grip was wet; drill repeated dry”')
  await expect(row.getByRole('button')).toHaveCount(0)
})

for (const { size, scheme } of looks('phone')) {
  test(`the safety pages are readable, on a ${size.name}, ${scheme}`, async ({ page }) => {
    await page.setViewportSize(size)
    await page.emulateMedia({ colorScheme: scheme, reducedMotion: 'reduce' })
    await signIn(page)
    for (const path of ['/safety', '/safety/new']) {
      await page.goto(path)
      await expect(page.getByRole('heading', { level: 1 })).toBeVisible()
      await expect(page.locator('main [role=status]').filter({ hasText: /…$/, visible: true })).toHaveCount(0)
      await readable(page, path, size.name === 'phone')
    }
  })
}
