// Puts the query of a named breakpoint, as it stands in src/ui/tokens.css, in the place of `(--name)`: browsers know no
// `@custom-media` yet.
import { readFileSync } from 'node:fs'

const TOKENS = new URL('src/ui/tokens.css', import.meta.url)
const DEFINITION = /@custom-media --([\w-]+) (\([^)]+\));\n?/g

/** Name -> query of each breakpoint. */
export const breakpoints = new Map(
  [...readFileSync(TOKENS, 'utf8').matchAll(DEFINITION)].map(([, name, query]) => [name, query]),
)

/** The same styles with queries; a name that nobody defined stops the build. */
export function resolve(css) {
  return css.replace(DEFINITION, '').replace(/(@media[^{]*)/g, (rule) =>
    rule.replace(/\(--([\w-]+)\)/g, (_, name) => {
      const query = breakpoints.get(name)
      if (!query) throw new Error(`no breakpoint is named --${name} in src/ui/tokens.css`)
      return query
    }),
  )
}

/** For the style of a component. */
export const inComponents = { style: ({ content }) => ({ code: resolve(content) }) }

/** For files of styles. */
export const inStyles = {
  name: 'fullset-breakpoints',
  enforce: 'pre',
  transform: {
    filter: { id: /\/src\/.*\.css$/ },
    handler: (code) => ({ code: resolve(code), map: null }),
  },
}
