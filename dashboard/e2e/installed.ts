// A service that has just been installed: an empty database, and the code that its terminal prints.
import { spawn } from 'node:child_process'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import path from 'node:path'
import { createInterface } from 'node:readline'
import { BINARY } from './county'

export interface Installed {
  address: string
  code: string
  end(): void
}

export async function install(): Promise<Installed> {
  const folder = mkdtempSync(path.join(tmpdir(), 'founding-'))
  const database = `sqlite:${path.join(folder, 'new.sqlite')}`
  const service = spawn(BINARY, ['serve', '--new', '--listen', '127.0.0.1:0', '--database', database])
  let address = ''
  let code = ''
  for await (const line of createInterface({ input: service.stdout })) {
    address ||= /http:\S+/.exec(line)?.[0] ?? ''
    code = /with this code: (\S+)/.exec(line)?.[1] ?? ''
    if (code) break
  }
  return {
    address,
    code,
    end() {
      service.kill('SIGKILL')
      rmSync(folder, { recursive: true, force: true, maxRetries: 5 })
    },
  }
}
