// A walk goes out: one command for each check, all queued at once, none waiting for another.
import type { Id } from '@/api/types'
import { uuid7 } from '@/api/uuid'
import { outbox } from '@/store/outbox.svelte'
import { session } from '@/store/session.svelte'
import { signing, type ActingMember } from '@/store/signing.svelte'
import { world } from '@/store/world.svelte'
import type { Sending } from './walk'

/** Queues all of them; `queued` is told each as soon as it is kept. False: on a shared tablet nobody signed. */
export async function send(
  all: Sending[],
  queued: (entry: Sending['entry'], command: Id) => Promise<void>,
): Promise<boolean> {
  let signer: ActingMember | undefined
  if (session.device) {
    signer =
      (await signing.ask(`Check: ${all.length} ${all.length === 1 ? 'piece' : 'pieces and plans'}`)) ??
      undefined
    if (!signer) return false
  }
  for (const { entry, body, photos } of all) {
    const id = uuid7()
    const tag = world.get('piece', entry.piece)?.tag ?? 'a piece'
    await outbox.put(`${entry.name}: ${tag}`, [{ kind: 'check.record', body, id }], { photos, signer })
    await queued(entry, id)
  }
  return true
}
