// The small hook-up picture of a rig on the board.
import { hookupOf } from '@/store/hookup'
import { world } from '@/store/world.svelte'
import type { BoardRig } from './board'

export function pictureOf({ rig, capability }: BoardRig) {
  const slots = world.get('rig_class', rig.rig_class)?.complement.slots ?? []
  return hookupOf(slots, capability, {
    piece: (id) => world.get('piece', id),
    model: (id) => world.get('model', id),
  })
}
