// What the planner of a rollout offers, and how it says what it offers. What the service would refuse is not offered; it decides all the same.
import type { Id, Model, Piece, Place, Rollout, RolloutRig } from '@/api/types'
import { pieceStateWord } from '@/words/piece'
import { byName, byTag } from '@/words/order'

/** Where a piece comes to be: the place it is on its way to counts. */
export const endOf = (place: Place): Place => (place.at === 'transit' ? endOf(place.to) : place)

const rigAt = (place: Place | null | undefined) => (place?.at === 'rig' ? place.rig : null)

/** The pieces of the new set that can be assigned to a rig's place in a rollout: aboard no rig and on the way to none, kept for no other.
 *  What is chosen stays in sight, whatever became of it. */
export const assignable = (
  pieces: readonly Piece[],
  models: readonly Id[],
  plan: Id,
  chosen: readonly Id[] = [],
): Piece[] =>
  pieces
    .filter(
      (one) =>
        models.includes(one.model) &&
        (one.kept_for === plan ||
          chosen.includes(one.id) ||
          (!one.kept_for && one.state !== 'retired' && !rigAt(endOf(one.place)))),
    )
    .toSorted(byTag)

const low = (words: string) => words.charAt(0).toLowerCase() + words.slice(1)

/** "reserve shelf, Station 2; out of service; belongs to Ladder 3". Names keep their capitals. */
export function choiceWords(
  piece: Pick<Piece, 'state' | 'place' | 'home'>,
  where: (place: Place) => string,
  rigName: (id: Id) => string | undefined,
): string {
  const home = rigAt(piece.home)
  return [
    low(where(piece.place)),
    piece.state === 'in_service' ? '' : pieceStateWord(piece.state).toLowerCase(),
    home ? `belongs to ${rigName(home) ?? 'a rig'}` : '',
  ]
    .filter(Boolean)
    .join('; ')
}

interface Named {
  id: Id
  name: string
}

/** The rigs that can be planned: those that carry the old set first. `elsewhere` are those that another rollout under way has planned. */
export function plannable<R extends Named>(
  rigs: readonly R[],
  pieces: readonly Piece[],
  rollout: Pick<Rollout, 'id' | 'replaces'>,
  planned: readonly RolloutRig[],
  rollouts: readonly Pick<Rollout, 'id' | 'name' | 'closed_at'>[],
) {
  const open = new Map(rollouts.flatMap((one) => (one.closed_at ? [] : [[one.id, one.name] as const])))
  const here = new Set(planned.flatMap((one) => (one.rollout === rollout.id ? [one.rig] : [])))
  const other = new Map(
    planned.flatMap((one) => {
      const name = one.rollout !== rollout.id && !one.changed_over && open.get(one.rollout)
      return name ? [[one.rig, name] as const] : []
    }),
  )
  const old = new Set(
    pieces.flatMap((one) =>
      rollout.replaces.includes(one.model) && one.state !== 'retired'
        ? [rigAt(endOf(one.place)), rigAt(one.home)]
        : [],
    ),
  )
  const left = rigs.filter((one) => !here.has(one.id)).toSorted(byName)
  const free = left.filter((one) => !other.has(one.id))
  return {
    carry: free.filter((one) => old.has(one.id)),
    others: free.filter((one) => !old.has(one.id)),
    elsewhere: left.flatMap((one) => {
      const name = other.get(one.id)
      return name ? [`${one.name} is in ${name}`] : []
    }),
  }
}

/** Models of neither set that share a family or a battery system with what leaves: the service names their pieces later, as what stays
 *  aboard. What the new set shares as well stays for a reason. */
export function belongsWith<M extends Pick<Model, 'id' | 'name' | 'kind' | 'family' | 'hookup'>>(
  all: readonly M[],
  models: readonly Id[],
  replaces: readonly Id[],
): M[] {
  const words = (ids: readonly Id[], of: (model: M) => string | null | undefined) =>
    new Set(all.flatMap((one) => (ids.includes(one.id) ? [of(one)?.toLowerCase()] : [])).filter(Boolean))
  const left = (of: (model: M) => string | null | undefined) => {
    const comes = words(models, of)
    return new Set([...words(replaces, of)].filter((word) => !comes.has(word)))
  }
  const families = left((one) => one.family)
  const batteries = left((one) => one.hookup.battery)
  const isOf = (one: M) =>
    families.has(one.family?.toLowerCase()) ||
    (one.hookup.battery
      ? batteries.has(one.hookup.battery.toLowerCase())
      : batteries.size > 0 && (one.kind === 'battery' || one.kind === 'charger'))
  return all
    .filter((one) => !models.includes(one.id) && !replaces.includes(one.id) && isOf(one))
    .toSorted(byName)
}

export interface RolloutDraft {
  name: string
  models: readonly Id[]
  replaces: readonly Id[]
  minimums: readonly { shift: string; members: number | null }[]
}

/** What the form of a rollout still lacks. A shift that was left half empty is not dropped in silence. */
export function lacks(draft: RolloutDraft): string[] {
  return [
    draft.name.trim() ? '' : 'its name',
    draft.models.length ? '' : 'the models of the new set',
    draft.replaces.length ? '' : 'the models that leave',
    draft.minimums.length ? '' : 'the minimum of a shift, at least of one',
    ...draft.minimums.map(({ shift, members }, n) => {
      if (!shift.trim()) return `what shift ${n + 1} is called, or remove it`
      return members ? '' : `how many members of ${shift.trim()}, or remove it`
    }),
  ].filter(Boolean)
}
