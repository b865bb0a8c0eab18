// Says how much a first visit downloads, gzip: the page, its entry script, all that it needs at once (the store with its disk
// and outbox among it) and the styles; then, each on top of that, the screens that people begin with, the sign-in's parts among them,
// which the page names. Parts fetched when somebody goes there are not counted. The service sends less where a browser takes Brotli.
import { readFileSync } from 'node:fs'
import path from 'node:path'
import { fileURLToPath } from 'node:url'
import { gzipSync } from 'node:zlib'

const dist = path.join(path.dirname(fileURLToPath(import.meta.url)), '..', 'dist')
const LIMIT = 50_000
/** With the screen that is seen first, whichever it is. */
const WITH_SCREEN = 76_000
const read = (file) => readFileSync(path.join(dist, file))
const html = read('index.html').toString()
const files = new Set([
  'index.html',
  ...[...html.matchAll(/(?:src|stylesheet" crossorigin href)="\/(assets\/[^"]+)"/g)].map((m) => m[1]),
])
// A part that is imported at once counts, also when the page does not name it.
for (const file of files) {
  if (!file.endsWith('.js')) continue
  for (const [, name] of read(file)
    .toString()
    .matchAll(/(?:from|import)\s*["']\.\/([^"']+\.js)["']/g))
    files.add(`assets/${name}`)
}
const weigh = (names) => [...names].reduce((sum, name) => sum + gzipSync(read(name)).length, 0)
for (const file of files) console.log(`${String(weigh([file])).padStart(7)}  ${file}`)
const sum = weigh(files)
console.log(`${String(sum).padStart(7)}  first load of ${LIMIT} allowed`)
if (sum > LIMIT) process.exitCode = 1

// Beside each part that is fetched later the entry names what comes with it, by its place in one list.
const entry = read(
  [...files].find((file) => /index-.*\.js$/.test(file) && read(file).includes('__vite__mapDeps=')),
).toString()
const list = JSON.parse(/m\.f=(\[[^\]]*\])/.exec(entry)?.[1] ?? '[]')
for (const screen of ['FirstPage', 'Mine', 'Board']) {
  const call = new RegExp(`\\./(${screen}-[^\`"']+)[\`"']\\)[^,]*,__vite__mapDeps\\(\\[([\\d,]*)\\]`).exec(
    entry,
  )
  if (!call) throw new Error(`the entry fetches no ${screen}`)
  const parts = new Set([`assets/${call[1]}`, ...call[2].split(',').map((at) => list[at])])
  const whole = sum + weigh([...parts].filter((name) => !files.has(name)))
  console.log(`${String(whole).padStart(7)}  with ${screen} of ${WITH_SCREEN} allowed`)
  if (whole > WITH_SCREEN) process.exitCode = 1
}
