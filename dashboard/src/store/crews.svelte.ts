// Who is on which rig. The records say who; what nobody aboard is signed off on is worked out by the server, and asked for.
import type { Crew, CrewsNow, Id, Member, Rig } from '@/api/types'
import { Asked } from './asked.svelte'
import { feed } from './feed.svelte'
import { world } from './world.svelte'

/** A member as a list to choose from shows it. */
export type Choice = Pick<Member, 'id' | 'name'>

class Crews extends Asked<CrewsNow> {
  /** What nobody aboard a rig is signed off on, as sentences; none while it was not asked or nobody said who is aboard. */
  unsigned = (rig: Id) => this.data?.items.find((one) => one.rig === rig)?.unsigned ?? []
  ask = () => this.look('/v1/crews/now')

  /** Changes whenever a crew, what is aboard, a member or the link may have changed what the server answers. Revisions only grow. */
  readonly #hangsOn = $derived(
    `${feed.link === 'off'}/${grown('crew')}/${grown('rig_standing')}/${grown('member')}/${grown('model')}`,
  )
  #asked = ''
  #soon: ReturnType<typeof setTimeout> | undefined
  /** For many that show it at once: one of them asks, and what changes within a moment is one question. */
  follow = () => {
    if (this.#hangsOn === this.#asked) return
    const first = !this.#asked
    this.#asked = this.#hangsOn
    clearTimeout(this.#soon)
    this.#soon = setTimeout(() => void this.ask(), first ? 0 : SOON_MS)
  }
}
const SOON_MS = 1_000
const grown = (kind: 'crew' | 'rig_standing' | 'member' | 'model') =>
  world.all(kind).reduce((sum, one) => sum + one.rev, 0)

export const crews = new Crews()

/** Who is on a rig at an instant; none where nobody said, or what was said is over. */
export function crewOf(rig: Id, at: Date): Crew | undefined {
  const crew = world.get('crew', rig)
  return crew && new Date(crew.from) <= at && at < new Date(crew.until) ? crew : undefined
}

/** Who may be chosen for a rig, by name: its station's members, and all others that this device holds or that were aboard last. */
export function crewChoices(rig: Rig): { own: Choice[]; others: Choice[] } {
  const active = world.all('member').filter((one) => one.active)
  const own = active.filter((one) => one.station === rig.station)
  const others: Choice[] = active.filter((one) => one.station !== rig.station)
  const held = new Set(active.map((one) => one.id))
  const detailed = (world.get('crew', rig.id)?.members ?? []).flatMap(({ id, name }) =>
    id && !held.has(id) ? [{ id, name }] : [],
  )
  return { own, others: [...others, ...detailed] }
}
