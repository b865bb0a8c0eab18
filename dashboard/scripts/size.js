// Says how much a first visit to the board downloads, gzip: the page, its entry script, all that it needs at once (the store
// with its disk and outbox among it) and the styles. Parts fetched when somebody goes there are not counted.
import { readFileSync } from 'node:fs'
import path from 'node:path'
import { fileURLToPath } from 'node:url'
import { gzipSync } from 'node:zlib'

const dist = path.join(path.dirname(fileURLToPath(import.meta.url)), '..', 'dist')
const LIMIT = 60 * 1024
const read = (file) => readFileSync(path.join(dist, file))
const html = read('index.html').toString()
const files = new Set([
  'index.html',
  ...[...html.matchAll(/(?:src|href)="\/(assets\/[^"]+)"/g)].map((m) => m[1]),
])
// A part that is imported at once counts, also when the page does not name it.
for (const file of files) {
  if (!file.endsWith('.js')) continue
  for (const [, name] of read(file)
    .toString()
    .matchAll(/(?:from|import)\s*["']\.\/([^"']+\.js)["']/g))
    files.add(`assets/${name}`)
}
let sum = 0
for (const file of files) {
  const size = gzipSync(read(file)).length
  sum += size
  console.log(`${String(size).padStart(7)}  ${file}`)
}
console.log(`${String(sum).padStart(7)}  first load of ${LIMIT} allowed`)
if (sum > LIMIT) process.exitCode = 1
