// NDJSON: a JSON in each line, handed on as it comes.

/** Each line as soon as it is whole; a last line without its end is cut off, and no line. Throws where reading does. */
export async function* jsonLines<T>(body: ReadableStream<Uint8Array>): AsyncGenerator<T> {
  const reader = body
    .pipeThrough(new TextDecoderStream() as ReadableWritablePair<string, Uint8Array>)
    .getReader()
  let rest = ''
  try {
    for (;;) {
      const { done, value } = await reader.read()
      if (done) return
      const lines = (rest + value).split('\n')
      rest = lines.pop() ?? ''
      for (const line of lines) if (line.trim()) yield JSON.parse(line) as T
    }
  } finally {
    await reader.cancel().catch(() => {})
  }
}
