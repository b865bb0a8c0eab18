// Who comes for the first time sees the sign-in: its parts are named in the page, so that they come beside the app and not after it.
import type { Plugin } from 'vite'

const SCREEN = '/slices/session/FirstPage.svelte'

export function first(): Plugin {
  return {
    name: 'fullset-first',
    apply: 'build',
    transformIndexHtml: {
      order: 'post',
      handler(html, { bundle = {} }) {
        const chunks = Object.values(bundle).filter((one) => one.type === 'chunk')
        const screen = chunks.find((one) => one.facadeModuleId?.endsWith(SCREEN))
        if (!screen) throw new Error(`no chunk begins with ${SCREEN}`)
        const parts = new Set([screen.fileName])
        for (const name of parts) {
          const part = chunks.find((one) => one.fileName === name)
          for (const style of part?.viteMetadata?.importedCss ?? []) parts.add(style)
          for (const needed of part?.imports ?? []) parts.add(needed)
        }
        return [...parts]
          .filter((name) => !html.includes(name))
          .map((name) => ({
            tag: 'link',
            injectTo: 'head' as const,
            attrs: name.endsWith('.css')
              ? { rel: 'preload', as: 'style', crossorigin: true, href: `/${name}` }
              : { rel: 'modulepreload', crossorigin: true, href: `/${name}` },
          }))
      },
    },
  }
}
