import { defineConfig } from '@playwright/test'
import { existsSync } from 'node:fs'
import path from 'node:path'
import { freshCounty } from './e2e/county'

// By default against the real service: `fullset demo` tells its county into a fresh file, then answers on a port of its own.
// BASE_URL, E2E_EMAIL and E2E_PASSWORD point the tests at another server (a demo: they change data and put it back).
const own = !process.env['BASE_URL']
const port = Number(process.env['E2E_PORT'] ?? 8098)
const baseURL = process.env['BASE_URL'] ?? `http://127.0.0.1:${port}`
if (own) {
  process.env['BASE_URL'] = baseURL
  process.env['E2E_EMAIL'] = 'admin@tamarrow.example'
  process.env['E2E_PASSWORD'] = 'county-demo-only'
}
const file = `../target/browser-${port}.sqlite`

/** The system's own browser; none is ever fetched. */
function installed(name: string): string | undefined {
  const folders = (process.env['PATH'] ?? '').split(path.delimiter)
  return folders.map((folder) => path.join(folder, name)).find((file) => existsSync(file))
}

export default defineConfig({
  testDir: 'e2e',
  workers: 1,
  timeout: 60_000,
  // Two services in a build without optimisation and two browsers share what may be two processors.
  expect: { timeout: 10_000 },
  reporter: 'list',
  use: {
    baseURL,
    viewport: { width: 1440, height: 900 },
    // It keeps the whole app for each test anew; what is about a phone without a server allows it.
    serviceWorkers: 'block',
    launchOptions: {
      executablePath: process.env['CHROMIUM'] ?? installed('chromium'),
      args: ['--no-sandbox'],
    },
    trace: 'off',
  },
  webServer: own
    ? {
        command: `${freshCounty(file)} && exec ../target/debug/fullset demo --file ${file} --listen 127.0.0.1:${port}`,
        url: `${baseURL}/healthz`,
        // Passkeys need a name: a number has none.
        env: { FULLSET_PUBLIC_URL: baseURL.replace('127.0.0.1', 'localhost') },
        timeout: 180_000,
        reuseExistingServer: false,
      }
    : undefined,
})
