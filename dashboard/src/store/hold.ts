// A tap that was a slip can be taken back: what it queued waits a few seconds before it leaves the phone. It is on the disk all the
// time, and goes by itself, in whichever tab, when this page is hidden, closed or done with it.
import { disk } from './disk'
import { SENDING } from './queue'

/** Less than a person looks at "Sending". */
export const HOLD_MS = 5_000

/**
 * Nothing is sent until the answer is called, or so long; `ended` hears of it. Where somebody sends already, or the browser has no locks,
 * nothing is held.
 */
export async function holdSending(ended: () => void, most = HOLD_MS): Promise<() => void> {
  const locks = (await disk()).lasting ? navigator.locks : undefined
  const nothing = () => {
    ended()
    return () => {}
  }
  if (!locks) return nothing()
  return new Promise((ready) => {
    const held = (lock: Lock | null) =>
      lock &&
      new Promise<void>((release) => {
        const end = () => {
          clearTimeout(timer)
          document.removeEventListener('visibilitychange', hidden)
          release()
          ended()
        }
        const hidden = () => document.visibilityState === 'hidden' && end()
        const timer = setTimeout(end, most)
        document.addEventListener('visibilitychange', hidden)
        ready(end)
      })
    void locks.request(SENDING, { ifAvailable: true }, (lock) => held(lock) ?? ready(nothing()))
  })
}
