import { describe, expect, it } from 'vitest'
import type { SignOff } from '@/api/types'
import { isSignedOff, newSetWords } from './newset'

describe('the crew of a rig', () => {
  it('reads when its new set comes and whether it is signed off on it', () => {
    expect(newSetWords('2026-12-07', false, '2026-11-30')).toBe(
      'New set planned for the week of 7 Dec 2026; you are not signed off on it yet',
    )
    expect(newSetWords('2026-11-30', true, '2026-12-01')).toBe(
      'New set planned for this week; you are signed off on it',
    )
    expect(newSetWords('2026-11-23', null, '2026-12-01')).toBe(
      'New set planned for the week of 23 Nov 2026, which is over; whether you are signed off on it is not known here',
    )
    expect(newSetWords(null, undefined, '2026-12-01')).toBe('New set planned, no week yet')
  })
  it('is signed off on the family and the kind, up to the last day', () => {
    const off = (kind: string, family: string | null, until: string) => ({ kind, family, until }) as SignOff
    const all = [off('ram', 'HALE 54', '2026-11-30'), off('cutter', null, '2099-01-01')]
    expect(isSignedOff(all, { kind: 'ram', family: 'Hale 54' }, '2026-11-30')).toBe(true)
    expect(isSignedOff(all, { kind: 'ram', family: 'Hale 54' }, '2026-12-01')).toBe(false)
    expect(isSignedOff(all, { kind: 'cutter', family: 'Hale 54' }, '2026-11-30')).toBe(false)
    // What names no family takes no sign-off of its own in a rollout.
    expect(isSignedOff([], { kind: 'hose', family: null }, '2026-11-30')).toBe(true)
  })
})
