// A test fails too when an error was thrown in a page that nobody caught: a screen may look right and have stopped.
import { expect, test as base } from '@playwright/test'

export { expect }

export const test = base.extend<{ pagesWithoutErrors: void }>({
  pagesWithoutErrors: [
    async ({ context }, use) => {
      const thrown: string[] = []
      context.on('weberror', (fault) => thrown.push(`${fault.page()?.url()}: ${fault.error().message}`))
      await use()
      expect(thrown).toEqual([])
    },
    { auto: true },
  ],
})
