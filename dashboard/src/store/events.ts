// Server-sent events, read from a fetch stream. EventSource gives up for good on one bad answer; this does not decide.
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

/** Waits longer after each failure, never all browsers at the same moment. */
export function backoff(failures: number, random = Math.random()): number {
  const longest = Math.min(15_000, 500 * 2 ** Math.min(failures, 6))
  return Math.round(longest * (0.6 + 0.4 * random))
}
