// A walk goes out: one command for each check, all queued at once, none waiting for another. What was seen of a failed step goes on
// to the defect that the service makes of it.
import type { Write } from 'fullset-client'
import type { Check, Id } from '@/api/types'
import { uuid7 } from '@/api/uuid'
import { checkBy } from '@/store/checks'
import { outbox } from '@/store/outbox.svelte'
import { session } from '@/store/session.svelte'
import { signing, type ActingMember } from '@/store/signing.svelte'
import { world } from '@/store/world.svelte'
import { defectId } from './defect-id'
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
  for (const one of all) {
    const { entry, body } = one
    const id = uuid7()
    const before = checkBy(entry.plan, entry.piece)
    const writes: Write[] = [{ kind: 'check.record', body, id }]
    const photos = [...one.photos]
    for (const { step, words, photos: shots } of one.seen) {
      const defect = knownDefect(before, step.id, step.fails_as) ?? (await defectId(id, step.id))
      if (!defect || !session.may('defect.note')) continue
      const text = words || `Photo from the check: ${step.title}`
      writes.push({ kind: 'defect.note', body: { id: defect, text, photos: shots } })
      photos.push(...shots)
    }
    const tag = world.get('piece', entry.piece)?.tag ?? 'a piece'
    await outbox.put(`${entry.name}: ${tag}`, writes, { photos, signer })
    await queued(entry, id)
  }
  return true
}

/** What failed at the check before and is still open is the same defect, not another. */
function knownDefect(before: Check | undefined, step: string, cls: string): Id | undefined {
  const id = before?.steps.find((one) => one.step === step)?.defect
  const defect = world.get('defect', id)
  return defect?.state === 'open' && defect.class === cls ? defect.id : undefined
}
