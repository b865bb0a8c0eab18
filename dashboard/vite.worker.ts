// Builds src/sw.ts after the app, with the list of the app's own files in it.
import { createHash } from 'node:crypto'
import { readdirSync, readFileSync } from 'node:fs'
import path from 'node:path'
import { build, type AliasOptions, type Plugin } from 'vite'

export function worker(alias: AliasOptions): Plugin {
  let root = ''
  let outDir = ''
  return {
    name: 'fullset-worker',
    apply: 'build',
    configResolved(config) {
      root = config.root
      outDir = path.resolve(config.root, config.build.outDir)
    },
    async closeBundle() {
      const assets = readdirSync(path.join(outDir, 'assets')).map((name) => `/assets/${name}`)
      const page = readdirSync(outDir, { withFileTypes: true }).filter(
        (f) => f.isFile() && f.name !== 'sw.js',
      )
      const hash = createHash('sha256')
      for (const file of page) hash.update(file.name).update(readFileSync(path.join(outDir, file.name)))
      for (const name of assets.sort()) hash.update(name)
      // The reader of codes and the map are large and not needed by everybody at once.
      const later = assets.filter((name) => /\.(wasm|png)$|\/AreaMap-/.test(name))
      const own = page.map(({ name }) => (name === 'index.html' ? '/' : `/${name}`))
      const files = [...own, ...assets.filter((name) => !later.includes(name))]
      const shell = { version: hash.digest('hex').slice(0, 16), files, later }
      await build({
        root,
        configFile: false,
        publicDir: false,
        logLevel: 'warn',
        resolve: { alias },
        define: { __SHELL__: JSON.stringify(shell) },
        build: {
          outDir,
          emptyOutDir: false,
          target: 'es2022',
          reportCompressedSize: false,
          rollupOptions: {
            input: path.join(root, 'src/sw.ts'),
            output: { format: 'iife', entryFileNames: 'sw.js' },
          },
        },
      })
    },
  }
}
