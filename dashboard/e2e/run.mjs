// Runs the browser tests in two halves at once, each against a service of its own: one alone leaves half of two processors idle.
// The county is told once, before them.
// With arguments, or against a service that runs already, it is `playwright test`.
import { execSync, spawn } from 'node:child_process'
import { createInterface } from 'node:readline'

const args = process.argv.slice(2)
const halves = args.length > 0 || process.env['BASE_URL'] ? [args] : [['--shard=1/2'], ['--shard=2/2']]

const county = '../target/county.sqlite'
if (halves.length > 1) {
  execSync(`rm -rf ${county}* && ../target/debug/fullset demo --file ${county} --seed-only`, {
    stdio: ['ignore', 'ignore', 'inherit'],
  })
  process.env['E2E_COUNTY'] = county
}

function run(half, index) {
  const env = { ...process.env, E2E_PORT: process.env['E2E_PORT'] ?? String(8098 - 2 * index) }
  const child = spawn('npx', ['playwright', 'test', ...half], { env, stdio: ['inherit', 'pipe', 'inherit'] })
  const name = halves.length > 1 ? `${index + 1}/2 ` : ''
  createInterface({ input: child.stdout }).on('line', (line) => console.log(name + line))
  return new Promise((done) => child.on('close', (code) => done(code ?? 1)))
}

const codes = await Promise.all(halves.map(run))
process.exit(codes.find((code) => code !== 0) ?? 0)
