// The hook-up picture of a rig, from what the world knows of its pieces.
import type { Capability, Rig } from '@/api/types'
import { hookupOf } from './hookup'
import { slotsOf } from './look'
import { world } from './world.svelte'

/** `fresh` points out on the picture what just changed. */
export function pictureOf(rig: Rig | undefined, capability: Capability | undefined, fresh = false) {
  return hookupOf(slotsOf(rig), capability, {
    piece: (id) => world.get('piece', id),
    model: (id) => world.get('model', id),
    fresh: (id) => (fresh ? world.fresh.get(`piece/${id}`) : undefined),
  })
}
