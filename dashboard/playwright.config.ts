import { defineConfig } from '@playwright/test'
import { existsSync } from 'node:fs'
import path from 'node:path'
import { BINARY, freshCounty } from './e2e/county'

// By default against the real service: `fullset demo` tells its county into a fresh file, then answers on a port of its own; of several
// workers each has its own. BASE_URL, E2E_EMAIL and E2E_PASSWORD point the tests at another server (a demo: they change data and put it
// back).
const own = !process.env['BASE_URL'] || process.env['E2E_OWN']
const workers = own ? Number(process.env['E2E_WORKERS'] ?? 1) : 1
const first = Number(process.env['E2E_PORT'] ?? 8096)
const addressOf = (worker: number) => `http://127.0.0.1:${first + 2 * worker}`
if (own) {
  process.env['E2E_OWN'] = 'yes'
  process.env['BASE_URL'] = addressOf(Number(process.env['TEST_PARALLEL_INDEX'] ?? 0))
  process.env['E2E_EMAIL'] = 'admin@tamarrow.example'
  process.env['E2E_PASSWORD'] = 'county-demo-only'
}
const baseURL = process.env['BASE_URL']

/** The service of a worker, with a county that nobody else changes. */
function service(worker: number) {
  const address = addressOf(worker)
  const file = `../target/browser-${new URL(address).port}.sqlite`
  return {
    command: `${freshCounty(file)} && exec ${BINARY} demo --file ${file} --listen ${new URL(address).host}`,
    url: `${address}/healthz`,
    // Passkeys need a name: a number has none.
    env: {
      FULLSET_PUBLIC_URL: address.replace('127.0.0.1', 'localhost'),
      FULLSET_PUSH_CONTACT: 'mailto:fire-it@tamarrow.example',
    },
    timeout: 180_000,
    reuseExistingServer: false,
  }
}

/** The system's own browser; none is ever fetched. */
function installed(name: string): string | undefined {
  const folders = (process.env['PATH'] ?? '').split(path.delimiter)
  return folders.map((folder) => path.join(folder, name)).find((file) => existsSync(file))
}

export default defineConfig({
  testDir: 'e2e',
  workers,
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
      executablePath:
        process.env['CHROMIUM'] ?? installed('chromium-headless-shell') ?? installed('chromium'),
      args: ['--no-sandbox'],
    },
    trace: 'off',
  },
  webServer: own ? Array.from({ length: workers }, (_, worker) => service(worker)) : [],
})
