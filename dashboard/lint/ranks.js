// The import rule of the dashboard. A file may name only the folders listed for its own folder,
// and one slice never names another: what two slices share belongs in ui, words or store.
import path from 'node:path'

export const MAY_NAME = {
  api: ['api'],
  ui: ['ui'],
  words: ['words', 'api'],
  store: ['store', 'words', 'api', 'ui'],
  slices: ['ui', 'store', 'api', 'words'],
}

/** The part of a path below src/, or null when it lies elsewhere. */
function below(file) {
  const parts = file.split(path.sep)
  const at = parts.lastIndexOf('src')
  return at < 0 ? null : parts.slice(at + 1)
}

/** Says what is wrong with `file` importing `target`, or null when nothing is. */
export function verdict(file, target) {
  const from = below(file)
  if (!from || from.length < 2) return null
  const allowed = MAY_NAME[from[0]]
  if (!allowed) return null
  let to
  if (target.startsWith('@/')) to = target.slice(2).split('/')
  else if (target.startsWith('.')) to = below(path.resolve(path.dirname(file), target))
  else return null
  if (!to) return `${from[0]} may not reach outside src`
  if (from[0] === 'slices' && to[0] === 'slices') {
    return from[1] === to[1] ? null : `slice ${from[1]} may not name slice ${to[1]}`
  }
  return allowed.includes(to[0]) ? null : `${from[0]} may not name ${to.join('/')}`
}

export default {
  rules: {
    ranks: {
      meta: { type: 'problem', schema: [], messages: { wrong: '{{why}}' } },
      create(context) {
        const look = (node) => {
          const source = node.source
          if (!source || typeof source.value !== 'string') return
          const why = verdict(context.filename, source.value)
          if (why) context.report({ node: source, messageId: 'wrong', data: { why } })
        }
        return {
          ImportDeclaration: look,
          ImportExpression: look,
          ExportNamedDeclaration: look,
          ExportAllDeclaration: look,
        }
      },
    },
  },
}
