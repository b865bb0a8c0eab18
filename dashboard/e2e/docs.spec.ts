import { expect, test } from '@playwright/test'
import { signIn } from './helpers'

test('the API is read and tried from the service alone', async ({ page, baseURL }) => {
  await signIn(page)
  const elsewhere: string[] = []
  page.on('request', (request) => {
    if (!request.url().startsWith(baseURL ?? '') && !/^(data|blob):/.test(request.url()))
      elsewhere.push(request.url())
  })
  const troubles: string[] = []
  page.on('console', (message) => message.type() === 'error' && troubles.push(message.text()))
  await page.goto('/docs')
  await expect(page.getByRole('heading', { name: /^Fullset/ })).toBeVisible()
  await page.getByPlaceholder('Filter by tag').fill('board')
  await page.locator('#operations-board-show_board').getByRole('button').first().click()
  await page.getByRole('button', { name: 'Try it out' }).click()
  await page.getByRole('button', { name: 'Execute' }).click()
  const answer = page.locator('.live-responses-table .response-col_status').first()
  await expect(answer).toContainText('200')
  expect(elsewhere).toEqual([])
  expect(troubles).toEqual([])
})
