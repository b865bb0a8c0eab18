// Which rig this phone belongs to: chosen once and kept on the phone, or plain from where the member serves.
import type { Id, Rig } from '@/api/types'
import { byName } from '@/words/order'

const KEY = 'fullset.my-rig'

export function keptRig(): Id | null {
  try {
    return localStorage.getItem(KEY)
  } catch {
    return null
  }
}

export function keepRig(id: Id | null) {
  try {
    if (id) localStorage.setItem(KEY, id)
    else localStorage.removeItem(KEY)
  } catch {
    // A browser that keeps nothing asks again next time.
  }
}

/** The kept rig while it exists; else the only rig of the member's station; else nobody knows, and a person chooses. */
export function myRig(rigs: Rig[], kept: Id | null, station: Id | null | undefined): Rig | undefined {
  const chosen = rigs.find((rig) => rig.id === kept)
  if (chosen) return chosen
  const own = station ? rigs.filter((rig) => rig.station === station) : []
  return own.length === 1 ? own[0] : undefined
}

/** Rigs of the member's own station first, then the others, each group by name as people count. */
export function offered(rigs: Rig[], station: Id | null | undefined): Rig[] {
  const own = (rig: Rig) => (station && rig.station === station ? 0 : 1)
  return rigs.toSorted((a, b) => own(a) - own(b) || byName(a, b))
}
