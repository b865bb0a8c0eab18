// Beside each text of the build what it is when pressed as small as it gets, so that the service does not press it, less well, at
// each request: `.br` and `.gz`.
import { readdirSync, readFileSync, writeFileSync } from 'node:fs'
import path from 'node:path'
import { fileURLToPath } from 'node:url'
import { brotliCompressSync, constants, gzipSync } from 'node:zlib'

const dist = path.join(path.dirname(fileURLToPath(import.meta.url)), '..', 'dist')
/** What is smaller goes in one packet anyway. */
const LEAST = 1_000

for (const entry of readdirSync(dist, { recursive: true, withFileTypes: true })) {
  if (!entry.isFile() || !/\.(js|css|html|svg|json|webmanifest|wasm)$/.test(entry.name)) continue
  const name = path.join(entry.parentPath, entry.name)
  const bytes = readFileSync(name)
  if (bytes.length < LEAST) continue
  const brotli = { [constants.BROTLI_PARAM_QUALITY]: 11, [constants.BROTLI_PARAM_SIZE_HINT]: bytes.length }
  writeFileSync(`${name}.br`, brotliCompressSync(bytes, { params: brotli }))
  writeFileSync(`${name}.gz`, gzipSync(bytes, { level: 9 }))
}
