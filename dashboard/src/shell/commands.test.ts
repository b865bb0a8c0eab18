// Nothing that a person needs lacks a screen: each kind of command is sent by one, or stands here with the reason why none sends it.
import { readdirSync, readFileSync } from 'node:fs'
import path from 'node:path'
import { describe, expect, it } from 'vitest'

const SRC = path.join(import.meta.dirname, '..')
const api = JSON.parse(readFileSync(path.join(SRC, '../../openapi/openapi.json'), 'utf8')) as {
  components: { schemas: { CommandKind: { enum: string[] } } }
}
const KINDS = api.components.schemas.CommandKind.enum

/** People never send these. */
const NEVER: Record<string, string> = {
  'agency.found': 'the agency’s first command, by who starts the service; there is no sign-in before it',
  'alert.answer': 'the service notes what a receiver outside has answered',
  'alert.note': 'the service notes a message that it has sent, or could not',
  'clock.settle': 'the clock: an answer has run out',
  'device.enrol': 'the service, when a code is redeemed; who made the code stands in it',
  'device.see': 'the service notes when a device was there',
}

/** These go another way than a written `kind:`: the file, and what in it sends them. */
const OTHERWISE: Record<string, { file: string; by: string }> = {
  'member.change_password': { file: 'slices/session/Account.svelte', by: "POST('/v1/session/password'" },
  'member.use_link': { file: 'slices/session/Link.svelte', by: 'wire.useLink(' },
  'import.add': { file: 'slices/register/desk.svelte.ts', by: '`/v1/imports?${this.#query(dryRun)}`' },
  'ticket.accept': { file: 'slices/bench/StepDialog.svelte', by: "case 'ticket.accept':" },
  'ticket.drop': { file: 'slices/bench/StepDialog.svelte', by: "case 'ticket.drop':" },
  'ticket.line': { file: 'slices/bench/StepDialog.svelte', by: "case 'ticket.line':" },
  'ticket.return': { file: 'slices/bench/StepDialog.svelte', by: "case 'ticket.return':" },
  'ticket.test': { file: 'slices/bench/StepDialog.svelte', by: "case 'ticket.test':" },
  'ticket.assign': { file: 'slices/bench/NoteDialog.svelte', by: "case 'ticket.assign':" },
  'ticket.promise': { file: 'slices/bench/NoteDialog.svelte', by: "case 'ticket.promise':" },
  'ticket.include': { file: 'slices/bench/NoteDialog.svelte', by: "case 'ticket.include':" },
  'ticket.cause': { file: 'slices/bench/NoteDialog.svelte', by: "case 'ticket.cause':" },
  'ticket.wait': { file: 'slices/bench/StepDialog.svelte', by: "case 'ticket.wait':" },
}

/** The screens and what they send through, without the tests beside them. */
const sources = ['slices', 'store', 'shell', 'ui']
  .flatMap((folder) =>
    readdirSync(path.join(SRC, folder), { recursive: true, encoding: 'utf8' }).map((file) =>
      path.join(folder, file),
    ),
  )
  .filter((file) => /\.(svelte|ts)$/.test(file) && !file.endsWith('.test.ts'))
const text = new Map(sources.map((file) => [file, readFileSync(path.join(SRC, file), 'utf8')]))
/** `kind: 'piece.move'` among what a screen writes down to be sent: with its body. */
export const written = (source: string) =>
  new Set([...source.matchAll(/\bkind: '([a-z_]+\.[a-z_]+)'/g)].map(([, kind]) => kind ?? ''))
const sent = new Set([...text.values()].flatMap((source) => [...written(source)]))

describe('each command has a screen', () => {
  it.each(KINDS.filter((kind) => !(kind in NEVER) && !(kind in OTHERWISE)))('%s', (kind) =>
    expect([...sent], `no screen sends ${kind}: make one, or say in NEVER why nobody sends it`).toContain(
      kind,
    ),
  )
  it.each(Object.entries(OTHERWISE))('%s', (_, { file, by }) => expect(text.get(file)).toContain(by))
})
it('the lists name nothing that a screen writes down, or that is no command', () => {
  const listed = [...Object.keys(NEVER), ...Object.keys(OTHERWISE)]
  expect(listed.filter((kind) => sent.has(kind))).toEqual([])
  expect(listed.filter((kind) => !KINDS.includes(kind))).toEqual([])
  expect([...sent].filter((kind) => !KINDS.includes(kind))).toEqual([])
})
it('sees what is written down, and only that', () => {
  expect([...written("const write = { kind: 'piece.move', body }; if (kind === 'piece.edit') {}")]).toEqual([
    'piece.move',
  ])
})
