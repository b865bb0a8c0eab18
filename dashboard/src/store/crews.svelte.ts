// Who is on which rig. The records say who; what nobody aboard is signed off on is worked out by the server, and asked for.
import type { Crew, CrewsNow, Id, Rig } from '@/api/types'
import { Asked } from './asked.svelte'
import { world } from './world.svelte'

class Crews extends Asked<CrewsNow> {
  /** What nobody aboard a rig is signed off on, as sentences; none while it was not asked or nobody said who is aboard. */
  unsigned = (rig: Id) => this.data?.items.find((one) => one.rig === rig)?.unsigned ?? []
  ask = () => this.look('/v1/crews/now')
}
export const crews = new Crews()

/** Who is on a rig at an instant; none where nobody said, or what was said is over. */
export function crewOf(rig: Id, at: Date): Crew | undefined {
  const crew = world.get('crew', rig)
  return crew && new Date(crew.from) <= at && at < new Date(crew.until) ? crew : undefined
}

/** Who may be chosen for a rig: its station's members first, then all others that this device holds, by name. */
export function crewChoices(rig: Rig) {
  const active = world.all('member').filter((one) => one.active)
  const own = active.filter((one) => one.station === rig.station)
  return { own, others: active.filter((one) => one.station !== rig.station) }
}
