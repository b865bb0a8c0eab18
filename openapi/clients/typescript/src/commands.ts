// Commands are made once, with their ids, and sent until they are answered: the server acts once.
import { isLost, type Client, type Reply } from './http'
import type { Answer, Command, Write } from './types'
import { uuid7 } from './uuid'

/** Makes commands in order, each after the one before it: if one is refused the rest do not act. */
export function prepare(writes: Write[], now = new Date()): Command[] {
  const at = now.toISOString()
  let before: string | undefined
  return writes.map(({ id, kind, body, expects }) => {
    const command: Command = { id: id ?? uuid7(), kind, at, body: { ...body } }
    if (expects !== undefined) command.expects = expects
    if (before) command.after = before
    before = command.id
    return command
  })
}

export interface Batch {
  revision: number
  answers: Answer[]
}

/** Sends a batch; when no answer comes it goes out again under the same ids, `tries` times in all. */
export async function push(
  client: Client,
  commands: Command[],
  tries = 3,
  pause = 400,
): Promise<Reply<Batch>> {
  for (let attempt = 1; ; attempt++) {
    const body = { sent_at: new Date().toISOString(), commands }
    const reply = await client.any<Batch>('POST', '/v1/commands', { body })
    if (reply.ok || !isLost(reply.problem) || attempt >= tries) return reply
    await new Promise((resolve) => setTimeout(resolve, pause * attempt))
  }
}
