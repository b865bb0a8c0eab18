import { describe, expect, it } from 'vitest'
import type { Alert, Receiver, Telling } from '@/api/types'
import { lastTold, mayResend, newSecret, reachFields, reachOf, receiverMark } from './receivers'

const receiver: Receiver = {
  id: 'r',
  name: 'County dispatch',
  way: 'webhook',
  address: 'https://desk.example/',
  changes: ['rig_falls'],
  rev: 1,
}
const telling = (more: Partial<Telling>) =>
  ({ receiver: 'r', state: 'failing', acknowledged: null, ...more }) as Telling

describe('a receiver', () => {
  it('gets a secret as Standard Webhooks writes it: 24 to 64 random bytes', () => {
    const secret = newSecret()
    expect(secret).toMatch(/^whsec_[A-Za-z0-9+/]{43}=$/)
    expect(atob(secret.slice(6))).toHaveLength(32)
    expect(newSecret()).not.toBe(secret)
  })
  it('is told of the agency, a district, or the rigs of a station', () => {
    for (const reach of ['', 'd/1', 's/2']) expect(reachOf(reachFields(reach))).toBe(reach)
  })
  it('says in a word whether it is told', () => {
    const off = { since: '2026-11-25T14:00:00Z', why: 'x' }
    expect(receiverMark(receiver).word).toBe('Is told')
    expect(receiverMark({ ...receiver, switched_off: off }).word).toBe('Switched off')
    expect(receiverMark({ ...receiver, switched_off: off, withdrawn_at: off.since }).word).toBe('Withdrawn')
  })
  it('is shown with the last that it was told', () => {
    const alert = (revision: number, told: Telling[]) => ({ revision, told }) as Alert
    const last = alert(2, [telling({})])
    expect(
      lastTold([alert(1, [telling({})]), last, alert(3, [telling({ receiver: 'q' })])], 'r')?.alert,
    ).toBe(last)
    expect(lastTold([], 'r')).toBeUndefined()
  })
  it('is sent a message again unless it waits, is acknowledged, or nobody is told', () => {
    const off = { since: '2026-11-25T14:00:00Z', why: 'x' }
    expect(mayResend(telling({}), receiver)).toBe(true)
    expect(mayResend(telling({ state: 'given_up' }), undefined)).toBe(true)
    expect(mayResend(telling({ state: 'waiting' }), receiver)).toBe(false)
    expect(mayResend(telling({}), { ...receiver, switched_off: off })).toBe(false)
    const known = { at: off.since, by: { id: null, name: 'Desk' }, through: 'code' as const, note: null }
    expect(mayResend(telling({ acknowledged: known }), receiver)).toBe(false)
  })
})
