// Coupling families: what mates with what, and who carries one.
import type { Coupling, Model } from '@/api/types'
import { byName } from '@/words/order'

export const UNDER_PRESSURE: Record<Coupling['under_pressure'], string> = {
  yes: 'May be joined under pressure',
  no: 'Never joined under pressure',
  unknown: 'Not known whether it may be joined under pressure',
}
export const MOST_MATES = 20

/** The families that a family mates with besides its own: said on one side it holds on both. */
export const matesOf = (one: Coupling, all: Coupling[]) =>
  all
    .filter(
      (other) =>
        other.id !== one.id && (one.mates_with.includes(other.id) || other.mates_with.includes(one.id)),
    )
    .toSorted(byName)

/** The models that carry it at either end or at another outlet. */
export const carriers = (one: Pick<Coupling, 'name'>, models: Model[]) =>
  models.filter(({ hookup }) =>
    [
      hookup.coupling,
      hookup.tool_coupling,
      ...(hookup.outlets ?? []).map((outlet) => outlet.coupling),
    ].includes(one.name),
  )

/** Spellings as they are typed, one in each line. */
export const spellingsOf = (text: string) =>
  text
    .split('\n')
    .map((line) => line.trim())
    .filter(Boolean)
