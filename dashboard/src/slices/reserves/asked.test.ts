import { expect, it } from 'vitest'
import type { Reply } from 'fullset-client'
import { Asked } from './asked.svelte'

/** An answer that comes when it is told to. */
function held<T>() {
  let tell: (reply: Reply<T>) => void = () => {}
  const reply = new Promise<Reply<T>>((resolve) => (tell = resolve))
  return { reply, tell }
}

it('shows the answer to the last question, in whatever order answers come', async () => {
  const asked = new Asked<string>()
  const [first, second] = [held<string>(), held<string>()]
  let stopped: AbortSignal | null = null
  const one = asked.ask((signal) => ((stopped = signal), first.reply))
  const two = asked.ask(() => second.reply)
  expect(stopped).toMatchObject({ aborted: true })
  second.tell({ ok: true, data: 'second' })
  await two
  first.tell({ ok: true, data: 'first' })
  await one
  expect(asked.data).toBe('second')
  expect(asked.busy).toBe(false)
})

it('keeps what was shown when the line is lost, and says what is wrong', async () => {
  const asked = new Asked<string>()
  await asked.ask(() => Promise.resolve({ ok: true, data: 'shown' }))
  const problem = { code: 'no-connection', title: 'No connection to the server', status: 0 }
  await asked.ask(() => Promise.resolve({ ok: false, problem }))
  expect(asked.data).toBe('shown')
  expect(asked.problem).toEqual(problem)
  await asked.ask(() => Promise.resolve({ ok: true, data: 'again' }))
  expect(asked.problem).toBeNull()
})
