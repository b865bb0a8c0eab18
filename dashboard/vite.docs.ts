// Puts the page that shows the API's description, and the viewer it needs, beside the app: docs/ is not part of what a phone keeps.
import { copyFileSync, mkdirSync } from 'node:fs'
import { createRequire } from 'node:module'
import path from 'node:path'
import type { Plugin } from 'vite'

const OWN = ['index.html', 'page.css', 'page.js']
const VIEWER = ['swagger-ui.css', 'swagger-ui-bundle.js']

export function docs(): Plugin {
  let from = ''
  let to = ''
  return {
    name: 'fullset-docs',
    apply: 'build',
    configResolved(config) {
      from = path.join(config.root, 'docs')
      to = path.join(path.resolve(config.root, config.build.outDir), 'docs')
    },
    closeBundle() {
      const viewer = path.dirname(createRequire(import.meta.url).resolve('swagger-ui-dist/package.json'))
      mkdirSync(to, { recursive: true })
      for (const name of OWN) copyFileSync(path.join(from, name), path.join(to, name))
      for (const name of VIEWER) copyFileSync(path.join(viewer, name), path.join(to, name))
    },
  }
}
