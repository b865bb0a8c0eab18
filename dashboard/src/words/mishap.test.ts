import { afterEach, describe, expect, it } from 'vitest'
import type { Mishap } from '@/api/types'
import { instantOn, mishapMark, openFirst } from './mishap'
import { useZone } from './time'

afterEach(() => useZone('UTC'))

describe('near misses and injuries', () => {
  it('takes a day and a time by the agency’s clock', () => {
    useZone('America/Denver')
    expect(instantOn('2026-11-25', '06:30')?.toISOString()).toBe('2026-11-25T13:30:00.000Z')
    expect(instantOn('2026-11-25', '23:59')?.toISOString()).toBe('2026-11-26T06:59:00.000Z')
    expect(instantOn('2026-11-25', '00:00')?.toISOString()).toBe('2026-11-25T07:00:00.000Z')
    useZone('Pacific/Auckland')
    expect(instantOn('2026-11-25', '06:30')?.toISOString()).toBe('2026-11-24T17:30:00.000Z')
    expect(instantOn('', '06:30')).toBeNull()
    expect(instantOn('2026-11-25', '')).toBeNull()
  })

  it('stands with what is open first, of those the newest', () => {
    const one = (id: string, state: string, happened_at: string) => ({ id, state, happened_at }) as Mishap
    const all = [
      one('a', 'closed', '2026-11-25'),
      one('b', 'open', '2026-11-20'),
      one('c', 'open', '2026-11-24'),
    ]
    expect(openFirst(all).map(({ id }) => id)).toEqual(['c', 'b', 'a'])
    expect(mishapMark({ sort: 'injury', state: 'open' }).shape).toBe('barred')
    expect(mishapMark({ sort: 'injury', state: 'closed' }).word).toBe('Injury, looked into')
  })
})
