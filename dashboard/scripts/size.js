// Says how much a first visit downloads, gzip: the page, its entry script, what that script needs at once, and the styles.
import { readFileSync } from 'node:fs'
import path from 'node:path'
import { fileURLToPath } from 'node:url'
import { gzipSync } from 'node:zlib'

const dist = path.join(path.dirname(fileURLToPath(import.meta.url)), '..', 'dist')
const LIMIT = 60 * 1024
const html = readFileSync(path.join(dist, 'index.html'), 'utf8')
const files = ['index.html', ...[...html.matchAll(/(?:src|href)="\/(assets\/[^"]+)"/g)].map((m) => m[1])]
let sum = 0
for (const file of new Set(files)) {
  const size = gzipSync(readFileSync(path.join(dist, file))).length
  sum += size
  console.log(`${String(size).padStart(7)}  ${file}`)
}
console.log(`${String(sum).padStart(7)}  first load of ${LIMIT} allowed`)
if (sum > LIMIT) process.exitCode = 1
