// Every write leaves through here. The id is made once; a lost answer is asked for again under the same id.
import { ask, NO_CONNECTION, wire } from '@/api/client'
import type { AnyRecord, Answer, Command, Problem } from '@/api/types'
import { uuid7 } from '@/api/uuid'
import { feed } from './feed.svelte'

export type Sent =
  | { outcome: 'applied'; revision: number | undefined; records: NonNullable<Answer['records']> }
  | { outcome: 'conflict'; current: AnyRecord | undefined; problem: Problem | undefined }
  | { outcome: 'refused'; problem: Problem; lost?: boolean }

export interface Write {
  kind: string
  body: Record<string, unknown>
  expects?: number
}

const TRIES = 3

/** Makes commands in order, each after the one before it: if one is refused the rest do not act. */
export function prepare(writes: Write[]): Command[] {
  const at = new Date().toISOString()
  let before: string | undefined
  return writes.map(({ kind, body, expects }) => {
    const command: Command = { id: uuid7(), kind, at, body }
    if (expects !== undefined) command.expects = expects
    if (before) command.after = before
    before = command.id
    return command
  })
}

/** Sends prepared commands. Sent again, they are the same commands: the server acts once. */
export async function sendAll(commands: Command[]): Promise<Sent[]> {
  const reply = await post(commands)
  if (!reply.ok) {
    const lost = isLost(reply.problem)
    return commands.map(() => ({ outcome: 'refused', problem: reply.problem, lost }))
  }
  const results = commands.map((command) =>
    read(reply.data.answers.find((a) => a.id === command.id) as Answer | undefined),
  )
  if (results.some((r) => r.outcome !== 'refused')) await feed.sync()
  return results
}

/** Nobody knows whether it arrived: no answer came, or one from something in between. */
const isLost = (problem: Problem) => problem.code === NO_CONNECTION || problem.status >= 500

async function post(commands: Command[]) {
  for (let attempt = 1; ; attempt++) {
    const body = { sent_at: new Date().toISOString(), commands }
    const reply = await ask(wire.POST('/v1/commands', { body: body as never }))
    if (reply.ok || !isLost(reply.problem) || attempt >= TRIES) return reply
    await new Promise((resolve) => setTimeout(resolve, 400 * attempt))
  }
}

function read(answer: Answer | undefined): Sent {
  if (!answer) {
    return {
      outcome: 'refused',
      problem: { code: 'no-answer', title: 'The server left this one without an answer', status: 0 },
    }
  }
  switch (answer.outcome) {
    case 'applied':
    case 'repeated':
      return { outcome: 'applied', revision: answer.revision ?? undefined, records: answer.records ?? [] }
    case 'conflict':
      return {
        outcome: 'conflict',
        current: answer.current ?? undefined,
        problem: answer.problem ?? undefined,
      }
    default:
      return {
        outcome: 'refused',
        problem: answer.problem ?? { code: 'refused', title: 'The server refused this', status: 422 },
      }
  }
}
