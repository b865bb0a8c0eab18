// Puts pages of their own beside the app, which are not part of what a phone keeps: the API's description with the viewer it needs, the
// page on which a desk says that it has read a message, and the board for a desk at dispatch.
import { copyFileSync, mkdirSync } from 'node:fs'
import { createRequire } from 'node:module'
import path from 'node:path'
import { svelte } from '@sveltejs/vite-plugin-svelte'
import { build, type AliasOptions, type Plugin } from 'vite'
import { inStyles } from './breakpoints.js'

/** The files of each page that are sent as they are written. */
const AS_WRITTEN = {
  docs: ['index.html', 'page.css', 'page.js'],
  acknowledge: ['index.html', 'page.css', 'page.js'],
  desk: ['index.html'],
}
const VIEWER = ['swagger-ui.css', 'swagger-ui-bundle.js']

export function pages(alias: AliasOptions): Plugin {
  let root = ''
  let outDir = ''
  return {
    name: 'fullset-pages',
    apply: 'build',
    configResolved(config) {
      root = config.root
      outDir = path.resolve(root, config.build.outDir)
    },
    async closeBundle() {
      const viewer = path.dirname(createRequire(import.meta.url).resolve('swagger-ui-dist/package.json'))
      for (const [page, files] of Object.entries(AS_WRITTEN)) {
        mkdirSync(path.join(outDir, page), { recursive: true })
        for (const name of files) copyFileSync(path.join(root, page, name), path.join(outDir, page, name))
      }
      for (const name of VIEWER) copyFileSync(path.join(viewer, name), path.join(outDir, 'docs', name))
      copyFileSync(path.join(root, 'src/ui/tokens.css'), path.join(outDir, 'acknowledge', 'tokens.css'))
      await build({
        root,
        configFile: false,
        publicDir: false,
        logLevel: 'warn',
        plugins: [inStyles, svelte()],
        resolve: { alias },
        build: {
          outDir: path.join(outDir, 'desk'),
          emptyOutDir: false,
          target: 'es2022',
          cssCodeSplit: false,
          reportCompressedSize: false,
          rollupOptions: {
            input: path.join(root, 'src/slices/desk/main.ts'),
            output: { format: 'iife', entryFileNames: 'page.js', assetFileNames: 'page[extname]' },
          },
        },
      })
    },
  }
}
