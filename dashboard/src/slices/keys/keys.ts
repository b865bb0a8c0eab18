// What keys of programs may do, in words, and what a form makes of it.
import type { ApiKey, Id, Role } from '@/api/types'
import { roleWord } from '@/words/people'
import { moment } from '@/words/time'

/** A program keeps no members. */
export const KEY_ROLES = ['crew', 'officer', 'shop', 'chief', 'coordinator'] as const satisfies Role[]
type Makers = ReadonlyMap<Id, boolean>

const gone = (one: ApiKey, makers: Makers) => makers.get(one.made_by.id ?? '') === false

/** Whether it answers, as far as this device knows. */
export const answers = (one: ApiKey, makers: Makers, at: Date) =>
  one.state === 'active' && Date.parse(one.expires_at) > at.getTime() && !gone(one, makers)

/** Why it does not. */
export function overWords(one: ApiKey, makers: Makers, at: Date): string {
  if (one.state === 'revoked')
    return `revoked ${moment(one.revoked_at, at)} by ${one.revoked_by?.name ?? 'somebody'}`
  if (gone(one, makers)) return `${one.made_by.name}, who made it, has left`
  return `ran out ${moment(one.expires_at, at)}`
}

export function scopeWords(scope: ApiKey['scope']): string {
  switch (scope.of) {
    case 'read':
      return 'reads'
    case 'role':
      return `reads and sends as ${roleWord(scope.role).toLowerCase()}`
    default:
      return `reads and sends ${scope.kinds.join(', ')}`
  }
}

export function scopeOf(what: string, role: Role, kinds: string): ApiKey['scope'] {
  if (what === 'role') return { of: 'role', role }
  if (what !== 'commands') return { of: 'read' }
  return { of: 'commands', kinds: kinds.split(/[\s,]+/).filter(Boolean) }
}

export const untilOf = (days: number, at: Date) => new Date(at.getTime() + days * 86_400_000).toISOString()
