// The new sets that are planned for a rig, as its crew reads them: from the records that this device holds.
import type { Id, Rig, Rollout } from '@/api/types'
import { isSignedOff, newSetWords } from '@/words/newset'
import { session } from './session.svelte'
import { world } from './world.svelte'

/** Whether the reader, where it is one of the rig's station, is signed off on all of it; null where a record of it is not here. */
function signed(rollout: Rollout, rig: Rig, today: string): boolean | null | undefined {
  const id = session.member?.id
  const me = id ? world.get('member', id) : undefined
  if (!id || (me?.station ?? session.member?.station) !== rig.station) return undefined
  const models = rollout.models.map((model) => world.get('model', model))
  if (!me) return null
  const known = models.flatMap((model) => model ?? [])
  if (!known.every((model) => isSignedOff(me.sign_offs, model, today))) return false
  return known.length === models.length ? true : null
}

export const newSets = (rig: Rig, today: string): { id: Id; href: string; words: string }[] =>
  world.all('rollout_rig').flatMap((plan) => {
    const rollout = plan.rig === rig.id && !plan.changed_over && world.get('rollout', plan.rollout)
    if (!rollout || rollout.closed_at) return []
    const words = newSetWords(plan.week, signed(rollout, rig, today), today)
    return [{ id: plan.id, href: `/programme/rollouts/${rollout.id}`, words }]
  })
