import { defineConfig } from '@playwright/test'
import { existsSync } from 'node:fs'
import path from 'node:path'

// Against a real server: BASE_URL, E2E_EMAIL and E2E_PASSWORD. Without BASE_URL the development mock serves dist/.
const own = !process.env['BASE_URL']
const baseURL = process.env['BASE_URL'] ?? 'http://127.0.0.1:8098'

/** The system's own browser; none is ever fetched. */
function installed(name: string): string | undefined {
  const folders = (process.env['PATH'] ?? '').split(path.delimiter)
  return folders.map((folder) => path.join(folder, name)).find((file) => existsSync(file))
}

export default defineConfig({
  testDir: 'e2e',
  workers: 1,
  timeout: 30_000,
  reporter: 'list',
  use: {
    baseURL,
    viewport: { width: 1440, height: 900 },
    launchOptions: {
      executablePath: process.env['CHROMIUM'] ?? installed('chromium'),
      args: ['--no-sandbox'],
    },
    trace: 'off',
  },
  webServer: own
    ? { command: 'node mock/server.js', url: baseURL, env: { PORT: '8098' }, reuseExistingServer: false }
    : undefined,
})
