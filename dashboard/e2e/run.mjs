// Runs the browser tests by two workers at once, each against a service of its own: one alone leaves half of two processors idle.
// The county is told once, before them.
// With arguments, or against a service that runs already, it is `playwright test` with one.
import { execSync, spawn } from 'node:child_process'

const args = process.argv.slice(2)
const env = { ...process.env }
if (args.length === 0 && !env['BASE_URL']) {
  env['E2E_WORKERS'] ??= '2'
  env['E2E_COUNTY'] ??= told('../target/county.sqlite')
}

function told(county) {
  execSync(`rm -rf ${county}* && ../target/debug/fullset demo --file ${county} --seed-only`, {
    stdio: ['ignore', 'ignore', 'inherit'],
  })
  return county
}

spawn('npx', ['playwright', 'test', ...args], { env, stdio: 'inherit' }).on('close', (code) =>
  process.exit(code ?? 1),
)
