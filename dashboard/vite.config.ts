import { svelte } from '@sveltejs/vite-plugin-svelte'
import { fileURLToPath } from 'node:url'
import { defineConfig } from 'vitest/config'

const server = process.env['FULLSET_SERVER'] ?? 'http://127.0.0.1:8080'

export default defineConfig({
  plugins: [svelte()],
  resolve: { alias: { '@': fileURLToPath(new URL('./src', import.meta.url)) } },
  build: {
    target: 'es2022',
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    reportCompressedSize: false,
  },
  server: { proxy: { '/v1': server, '/openapi.json': server } },
  test: { include: ['src/**/*.test.ts', 'lint/**/*.test.js'], environment: 'node' },
})
