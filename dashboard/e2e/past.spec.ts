import { feed, records, signedIn, signIn, visit } from './helpers'
import { looks, readable } from './readable'
import { expect, test } from './test'
import type { Rig, RigStanding } from '../src/api/types'

for (const { size, scheme } of looks('desk')) {
  test(`the past is readable, on a ${size.name}, ${scheme}`, async ({ page }) => {
    test.setTimeout(120_000)
    await page.setViewportSize(size)
    await page.emulateMedia({ colorScheme: scheme, reducedMotion: 'reduce' })
    await signedIn(page)
    const changes = await feed(page)
    const weak = records<RigStanding>(changes, 'rig_standing').find((one) => one.level !== 'full')
    const rig = records<Rig>(changes, 'rig').find((r) => r.id === weak?.id)
    const paths = ['/past', '/past?at=2001-01-01T08:00', '/past?at=nonsense', '/past?view=months']
    if (rig)
      paths.push(
        `/rigs/${rig.id}/past`,
        `/past?view=months&rig=${rig.id}`,
        `/rigs/${rig.id}/past?at=2001-01-01T08:00`,
      )
    for (const path of paths) {
      await visit(page, path)
      await expect(page.getByText(/^(Reading|Adding)/)).toHaveCount(0)
      await readable(page, path, size.name === 'phone')
    }
  })
}

test('a date and a time go into the address, and steps go from change to change', async ({ page }) => {
  await signIn(page, '/past')
  await expect(page).toHaveURL(/at=/)
  const asked = page.getByText(/by what the service had/)
  await expect(asked).toBeVisible()
  await page.getByRole('button', { name: 'A week ago' }).click()
  await page.getByLabel('Time, 24 h').fill('0512')
  await page.getByRole('button', { name: 'Show', exact: true }).click()
  await expect(page).toHaveURL(/at=\d{4}-\d\d-\d\dT05%3A12/)
  await expect(asked).toContainText('05:12')
  await page.getByRole('button', { name: 'Change before' }).click()
  await expect(page).toHaveURL(/revision=\d+/)
  const revision = Number(new URL(page.url()).searchParams.get('revision'))
  await page.getByRole('button', { name: 'Change before' }).click()
  await expect(page).not.toHaveURL(new RegExp(`revision=${revision}`))
  const earlier = Number(new URL(page.url()).searchParams.get('revision'))
  expect(earlier).toBeLessThan(revision)
  await page.getByRole('button', { name: 'Change after' }).click()
  await expect(page).toHaveURL(new RegExp(`revision=${revision}`))
})

test('a change since then opens the sheet as it left the rig', async ({ page }) => {
  await signIn(page, '/past')
  await page.getByRole('button', { name: 'A month ago' }).click()
  const since = page.getByRole('region', { name: /What changed on the board since/ })
  const first = since.getByRole('row').nth(1).getByRole('link')
  const name = await first.textContent()
  await first.click()
  await expect(page).toHaveURL(/\/rigs\/.*\/past\?revision=\d+/)
  await expect(page.getByRole('heading', { level: 1 })).toContainText(`${name} as it stood`)
  await expect(page.getByText('This sheet shows what the service had been told by')).toBeVisible()
  await page.getByRole('link', { name: `${name} now` }).click()
  await page.getByRole('link', { name: 'As it stood earlier' }).click()
  await expect(page.getByRole('heading', { level: 1 })).toContainText(`${name} as it stood`)
})

test('what cannot be shown is told in words', async ({ page }) => {
  await signIn(page, '/past?at=2001-01-01T08:00')
  await expect(page.getByText(/No rig was on record at Mon 1 Jan 2001 08:00/)).toBeVisible()
  await page.goto('/past?at=2101-01-01T08:00')
  await expect(page.getByText(/has not come yet/)).toBeVisible()
  await page.goto('/past?at=nonsense')
  await expect(page.getByText('This address names no time.')).toBeVisible()
})

test('a share of time opens the district, the rig, and the stretches behind it', async ({ page }) => {
  await signIn(page, '/past?view=months')
  const table = page.getByRole('region', { name: 'Shares of time, table' })
  await table.getByRole('row').nth(1).getByRole('link').last().click()
  await expect(page).toHaveURL(/district=/)
  await expect(page.getByRole('heading', { name: /^The rigs of/ })).toBeVisible()
  await table.getByRole('row').nth(1).getByRole('link').last().click()
  await expect(page).toHaveURL(/rig=/)
  await expect(page.getByRole('heading', { name: /the time at full/ })).toBeVisible()
  await expect(page.getByText(/stretch(es)? of time, .* known/)).toBeVisible()
  await page.reload()
  await expect(page.getByRole('heading', { name: /the time at full/ })).toBeVisible()
})

test('without an answer the last board stays, and it can be asked again', async ({ page }) => {
  await signIn(page, '/past')
  await expect(page.getByText(/by what the service had/)).toBeVisible()
  await page.context().setOffline(true)
  await page.getByRole('button', { name: 'A week ago' }).click()
  await expect(page.getByText('The past is read from the server, and it does not answer')).toBeVisible()
  await expect(page.getByText(/by what the service had/)).toBeVisible()
  await page.context().setOffline(false)
  await page.getByRole('button', { name: 'Try again' }).click()
  await expect(page.getByText('The past is read from the server, and it does not answer')).toBeHidden()
})
