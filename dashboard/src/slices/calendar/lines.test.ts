import { expect, test } from 'vitest'
import { jsonLines } from './lines'

function stream(parts: (string | Uint8Array)[], broken = false) {
  return new ReadableStream<Uint8Array>({
    start(to) {
      for (const part of parts) to.enqueue(typeof part === 'string' ? new TextEncoder().encode(part) : part)
      if (broken) to.error(new TypeError('network'))
      else to.close()
    },
  })
}
async function all(body: ReadableStream<Uint8Array>) {
  const lines: unknown[] = []
  for await (const line of jsonLines(body)) lines.push(line)
  return lines
}

test('lines come whole, however the parts are cut, in the middle of a letter too', async () => {
  const bytes = new TextEncoder().encode('{"a":"é"}\n\n{"b":2}\n')
  const parts = [...bytes].map((byte) => new Uint8Array([byte]))
  expect(await all(stream(parts))).toEqual([{ a: 'é' }, { b: 2 }])
})
test('a line that was cut off is none', async () => {
  expect(await all(stream(['{"a":1}\n{"b":', '2}']))).toEqual([{ a: 1 }])
})
test('a connection that breaks is told', async () => {
  await expect(all(stream(['{"a":1}\n'], true))).rejects.toThrow()
})
test('whoever stops reading closes the connection', async () => {
  let closed = false
  const body = new ReadableStream<Uint8Array>({
    pull: (to) => to.enqueue(new TextEncoder().encode('{"a":1}\n')),
    cancel: () => void (closed = true),
  })
  for await (const line of jsonLines(body)) if (line) break
  expect(closed).toBe(true)
})
