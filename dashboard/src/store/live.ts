// The live stream: one per browser. The tab that holds the lock reads the stream and tells the others;
// where locks or channels are missing, each tab reads its own.
import { backoff, listen } from 'fullset-client'
import { wire } from '@/api/client'
import { feed } from './feed.svelte'
import { outbox } from './outbox.svelte'
import { phone } from './phone.svelte'

const LOCK = 'fullset-live'
const SILENCE_MS = 40_000
const BEAT_MS = 10_000
const DEAF_MS = 35_000

type Note =
  { type: 'revision'; revision: number } | { type: 'stream'; streaming: boolean } | { type: 'hello' }

export function goLive(): () => void {
  const stop = new AbortController()
  const channel = typeof BroadcastChannel === 'undefined' ? null : new BroadcastChannel(LOCK)
  const locks = channel && typeof navigator !== 'undefined' ? navigator.locks : null
  let leading = false
  let heardAt = Date.now()
  let nudge: () => void = () => {}

  const tell = (note: Note) => channel?.postMessage(note)
  const setStreaming = (streaming: boolean) => {
    feed.streaming = streaming
    if (leading) tell({ type: 'stream', streaming })
  }

  if (channel) {
    channel.onmessage = (message: MessageEvent<Note>) => {
      const note = message.data
      if (note.type === 'hello')
        return leading ? tell({ type: 'stream', streaming: feed.streaming }) : undefined
      heardAt = Date.now()
      if (note.type === 'revision') feed.news(note.revision, false)
      if (note.type === 'stream' && !leading) {
        const back = note.streaming && !feed.streaming
        feed.streaming = note.streaming
        if (back) void feed.sync()
      }
    }
  }

  async function read(signal: AbortSignal) {
    let failures = 0
    while (!signal.aborted) {
      const openedAt = Date.now()
      const why = await stream(signal)
      if (signal.aborted) return
      if (why === 'refused') await wire.who()
      failures = Date.now() - openedAt > 5_000 ? 0 : failures + 1
      setStreaming(false)
      await feed.sync()
      await pause(backoff(failures), signal)
    }
  }

  async function stream(signal: AbortSignal): Promise<'ended' | 'refused'> {
    const inner = new AbortController()
    const end = () => inner.abort()
    signal.addEventListener('abort', end, { once: true })
    let watchdog: ReturnType<typeof setTimeout> | undefined
    const alive = () => {
      clearTimeout(watchdog)
      watchdog = setTimeout(() => void feed.sync().then((good) => (good ? alive() : end())), SILENCE_MS)
    }
    try {
      alive()
      return await listen(
        wire,
        inner.signal,
        {
          alive,
          opened() {
            setStreaming(true)
            // What happened between the last page and this moment would otherwise wait for the next event.
            void feed.sync()
            void outbox.send()
          },
          revision(revision) {
            tell({ type: 'revision', revision })
            feed.news(revision, true)
          },
        },
        phone.scope,
      )
    } finally {
      clearTimeout(watchdog)
      signal.removeEventListener('abort', end)
      end()
    }
  }

  function pause(ms: number, signal: AbortSignal) {
    return new Promise<void>((resolve) => {
      const timer = setTimeout(resolve, ms)
      nudge = () => {
        clearTimeout(timer)
        resolve()
      }
      signal.addEventListener('abort', nudge, { once: true })
    })
  }

  function lead(steal: boolean) {
    if (!locks) return void read(stop.signal)
    const mine = new AbortController()
    stop.signal.addEventListener('abort', () => mine.abort(), { once: true })
    const options: LockOptions = steal ? { steal: true } : { signal: stop.signal }
    locks
      .request(LOCK, options, async () => {
        leading = true
        await read(mine.signal)
      })
      .catch(() => {
        // Another tab took over because this one had gone silent; wait for a turn like everyone else.
        mine.abort()
        leading = false
        if (!stop.signal.aborted) lead(false)
      })
  }

  const beat = setInterval(() => {
    if (leading) return tell({ type: 'stream', streaming: feed.streaming })
    const deaf = Date.now() - heardAt > DEAF_MS
    if (locks && deaf && document.visibilityState === 'visible') {
      heardAt = Date.now()
      lead(true)
    }
  }, BEAT_MS)

  const wake = () => {
    nudge()
    // The tab may be closed next: then the worker has to send.
    if (document.visibilityState !== 'visible') return outbox.waiting ? phone.askForSync() : undefined
    void feed.sync()
    void outbox.send()
  }
  // The page that cannot be fetched now is what says so, at once and not when the stream falls silent.
  const lost = () => void feed.sync()
  addEventListener('online', wake)
  addEventListener('offline', lost)
  document.addEventListener('visibilitychange', wake)

  void feed.sync()
  void outbox.send()
  lead(false)
  tell({ type: 'hello' })

  return () => {
    stop.abort()
    feed.stop()
    clearInterval(beat)
    removeEventListener('online', wake)
    removeEventListener('offline', lost)
    document.removeEventListener('visibilitychange', wake)
    channel?.close()
  }
}
