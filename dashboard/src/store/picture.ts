// The hook-up picture of a rig, from what the world knows of its pieces.
import type { Rig, RigStanding } from '@/api/types'
import { hookupOf } from './hookup'
import { slotsOf } from './look'
import { world } from './world.svelte'

/** `fresh` points out on the picture what just changed. */
export function pictureOf(rig: Rig | undefined, standing: RigStanding | undefined, fresh = false) {
  return hookupOf(slotsOf(rig), standing, {
    piece: (id) => world.get('piece', id),
    model: (id) => world.get('model', id),
    fresh: (id) => (fresh ? world.fresh.get(`piece/${id}`) : undefined),
  })
}
