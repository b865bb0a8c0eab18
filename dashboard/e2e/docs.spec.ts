import { signedIn } from './helpers'
import { expect, test } from './test'

test('the API is read and tried from the service alone', async ({ page, baseURL }) => {
  test.setTimeout(180_000)
  await signedIn(page)
  const elsewhere: string[] = []
  page.on('request', (request) => {
    if (!request.url().startsWith(baseURL ?? '') && !/^(data|blob):/.test(request.url()))
      elsewhere.push(request.url())
  })
  const troubles: string[] = []
  page.on('console', (message) => {
    // The viewer tells of its own plans as an error.
    if (message.type() === 'error' && !message.text().startsWith('Deprecated:')) troubles.push(message.text())
  })
  await page.goto('/docs#/board/show_board')
  // Reading the whole description takes a small machine some seconds.
  await expect(page.getByRole('heading', { name: /^Fullset/ })).toBeVisible({ timeout: 60_000 })
  await page.getByRole('button', { name: 'Try it out' }).click()
  await page.getByRole('button', { name: 'Execute' }).click()
  const answer = page.locator('.live-responses-table tbody .response-col_status').first()
  await expect(answer).toContainText('200')
  expect(elsewhere).toEqual([])
  expect(troubles).toEqual([])
})
