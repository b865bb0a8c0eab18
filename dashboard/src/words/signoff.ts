// Who is signed off on which gear, as the records say it.
import type { Kind, Member, SignOff } from '@/api/types'

/** What somebody is signed off on: gear of a kind, or of a family of models that takes a sign-off of its own. */
export type Handled = Pick<SignOff, 'kind' | 'family'>
export type Signed = { sign_offs: readonly Pick<Member['sign_offs'][number], 'kind' | 'family' | 'until'>[] }

/** Gear of these kinds asks for a sign-off, as in the service's `care::crew`. */
const ASKING: readonly Kind[] = ['power_unit', 'hand_pump', 'cutter', 'spreader', 'combination_tool', 'ram']
export const asksForSignOff = (kind: Kind) => ASKING.includes(kind)

export const handledKey = ({ kind, family }: Handled) => `${kind}/${(family ?? '').toLowerCase()}`
export const holds = (member: Signed, of: Handled, today: string) =>
  member.sign_offs.some((one) => handledKey(one) === handledKey(of) && one.until >= today)
