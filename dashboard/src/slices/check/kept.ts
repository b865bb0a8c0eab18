// Half-done walks, kept on this phone for whoever began them.
import type { Id } from '@/api/types'
import type { Disk } from '@/store/disk'
import { isStale, type Walk } from './walk'

type Kept = Record<Id, Walk>
const keyFor = (owner: string) => `walks:${owner}`

/** The walk round this rig or piece, where one was begun that is still of today. */
export async function keptWalk(disk: Disk, owner: string, of: Id, now: number): Promise<Walk | null> {
  const walk = (await disk.get<Kept>('meta', keyFor(owner)))?.[of]
  return walk && !isStale(walk, now) ? walk : null
}

/** Keeps it, and lets go of those that are too old. */
export function keepWalk(disk: Disk, owner: string, walk: Walk): Promise<void> {
  const to = (old: Kept | undefined): Kept => {
    const fresh = Object.entries(old ?? {}).filter(([, one]) => !isStale(one, walk.touched))
    return { ...Object.fromEntries(fresh), [walk.of]: walk }
  }
  return disk.write([{ change: 'meta', key: keyFor(owner), to }])
}

export function dropWalk(disk: Disk, owner: string, of: Id): Promise<void> {
  const to = (old: Kept | undefined): Kept | undefined => {
    const left = Object.entries(old ?? {}).filter(([id]) => id !== of)
    return left.length ? Object.fromEntries(left) : undefined
  }
  return disk.write([{ change: 'meta', key: keyFor(owner), to }])
}
