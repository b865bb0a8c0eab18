import { svelte } from '@sveltejs/vite-plugin-svelte'
import { fileURLToPath } from 'node:url'
import { defineConfig } from 'vitest/config'
import { inStyles } from './breakpoints.js'
import { first } from './vite.first.ts'
import { pages } from './vite.pages.ts'
import { worker } from './vite.worker.ts'

const server = process.env['FULLSET_SERVER'] ?? 'http://127.0.0.1:8080'

const at = (path: string) => fileURLToPath(new URL(path, import.meta.url))
const alias = [
  { find: '@', replacement: at('./src') },
  { find: /^fullset-client$/, replacement: at('../openapi/clients/typescript/src/index.ts') },
  { find: /^fullset-client\/(.*)$/, replacement: `${at('../openapi/clients/typescript/src')}/$1.ts` },
]

export default defineConfig({
  plugins: [inStyles, svelte(), first(), pages(alias), worker(alias)],
  resolve: { alias },
  build: {
    target: 'es2022',
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    reportCompressedSize: false,
  },
  // The host stays the browser's own: the service lets a signed-in page write only when host and origin agree.
  server: {
    proxy: {
      '/v1': { target: server, changeOrigin: false },
      '/openapi.json': { target: server, changeOrigin: false },
    },
  },
  test: {
    include: ['src/**/*.test.ts', 'lint/**/*.test.js', '../openapi/clients/typescript/test/*.test.ts'],
    environment: 'node',
    // Keys out of PINs take 600,000 rounds, several seconds each on a busy machine. What hangs is still found.
    testTimeout: 60_000,
  },
})
