// A slip can be taken back as long as it has not left the phone.
import { notices } from '@/ui/notice.svelte'
import { withdraw } from './decide'
import { outbox } from './outbox.svelte'

/** The way back for a notice about acts that were kept; none when nothing about those records waits any more. */
export function takeBack(...about: string[]): { label: string; run: () => Promise<void> } | undefined {
  const items = about.flatMap((id) => outbox.about(id))
  // What was tried may have arrived: nothing is offered that could not be kept.
  if (items.some((item) => item.state !== 'waiting' || item.tried > 0)) return undefined
  const run = async () => {
    const back: boolean[] = []
    // The last one first: what follows goes with what it follows.
    for (const item of items.toReversed()) back.push(await withdraw(item))
    notices.say(
      back.some(Boolean) ? 'Taken back. Nothing was sent.' : 'Too late: it has left the phone already.',
    )
  }
  return items.length ? { label: 'Undo', run } : undefined
}
