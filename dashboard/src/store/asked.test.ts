import { afterEach, beforeEach, expect, it, vi } from 'vitest'
import type { Reply } from 'fullset-client'
import { patiently } from './asked.svelte'

const told = (status: number, retry_after?: number): Reply<string> => ({
  ok: false,
  problem: { code: 'slow-down', title: 'Too many tries', status, ...(retry_after ? { retry_after } : {}) },
})
const there: Reply<string> = { ok: true, data: 'there' }

beforeEach(() => void vi.useFakeTimers())
afterEach(() => void vi.useRealTimers())

/** Asks and is answered these one after the other; the last again and again. */
async function asked(replies: Reply<string>[], signal = new AbortController().signal) {
  let times = 0
  const reply = patiently(signal, () => Promise.resolve(replies[Math.min(times++, replies.length - 1)]!))
  await vi.advanceTimersByTimeAsync(120_000)
  return { reply: await reply, times }
}

it('asks again when the service says when, and shows what came at last', async () => {
  expect(await asked([told(429, 2), told(429, 2), there])).toEqual({ reply: there, times: 3 })
})

it('gives up after a while and says why', async () => {
  expect(await asked([told(429, 2)])).toEqual({ reply: told(429, 2), times: 6 })
})

it('asks once where waiting helps nothing, or would take long', async () => {
  for (const reply of [told(404, 2), told(429), told(429, 60), told(503, 2)])
    expect(await asked([reply, there])).toEqual({ reply, times: 1 })
})

it('asks no more once nobody wants to know', async () => {
  const stop = new AbortController()
  stop.abort()
  expect(await asked([told(429, 2), there], stop.signal)).toEqual({ reply: told(429, 2), times: 1 })
})
