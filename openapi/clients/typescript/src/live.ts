// The stream of revisions: server-sent events, read from a fetch stream. EventSource gives up for good on one bad answer;
// this leaves that to the caller.
import type { Client } from './http'

export interface ServerEvent {
  event: string
  data: string
}

/** Feeds text in, gives whole events out; what is unfinished waits for the next piece. */
export function eventReader(): (text: string) => ServerEvent[] {
  let rest = ''
  let event = 'message'
  let data: string[] = []
  return (text) => {
    const out: ServerEvent[] = []
    const lines = (rest + text).split(/\r\n|\n|\r/)
    rest = lines.pop() ?? ''
    for (const line of lines) {
      if (line === '') {
        if (data.length) out.push({ event, data: data.join('\n') })
        event = 'message'
        data = []
        continue
      }
      if (line.startsWith(':')) continue
      const colon = line.indexOf(':')
      const field = colon < 0 ? line : line.slice(0, colon)
      const value = colon < 0 ? '' : line.slice(colon + 1).replace(/^ /, '')
      if (field === 'event') event = value
      else if (field === 'data') data.push(value)
    }
    return out
  }
}

export interface Listener {
  opened(): void
  /** Something came, if only a sign of life. */
  alive(): void
  revision(revision: number): void
}

/** Reads one stream until it ends; it tells when something may have changed in the scope. `refused` means that the sign-in no longer counts. */
export async function listen(
  client: Client,
  signal: AbortSignal,
  to: Listener,
  scope = 'agency',
): Promise<'ended' | 'refused'> {
  try {
    const init = {
      method: 'GET',
      headers: { accept: 'text/event-stream' },
      signal,
    }
    const response = await client.raw(`/v1/changes/live?scope=${scope}`, init)
    if (response.status === 401) return 'refused'
    if (!response.ok || !response.body) return 'ended'
    to.opened()
    const events = eventReader()
    const reader = response.body.pipeThrough(new TextDecoderStream()).getReader()
    for (;;) {
      const { done, value } = await reader.read()
      if (done) return 'ended'
      to.alive()
      for (const { event, data } of events(value)) {
        const revision = event === 'revision' ? revisionOf(data) : null
        if (revision !== null) to.revision(revision)
      }
    }
  } catch {
    return 'ended'
  }
}

export function revisionOf(data: string): number | null {
  try {
    const value: unknown = (JSON.parse(data) as { revision?: unknown }).revision
    return typeof value === 'number' ? value : null
  } catch {
    return null
  }
}

/** Waits longer after each failure, never all clients at the same moment. */
export function backoff(failures: number, random = Math.random()): number {
  const longest = Math.min(15_000, 500 * 2 ** Math.min(failures, 6))
  return Math.round(longest * (0.6 + 0.4 * random))
}
