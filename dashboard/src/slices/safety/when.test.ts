import { afterEach, expect, it } from 'vitest'
import { useZone } from '@/words/time'
import { mostOf, toldOf, whenOf } from './when'

afterEach(() => useZone('UTC'))

it('keeps the day of which no time was said, as noon that is said to be none', () => {
  useZone('America/Denver')
  const of = (day: string, time: string) => whenOf(day, time, '2026-11-30')
  expect(of('2026-11-27', '')).toEqual({ at: new Date('2026-11-27T19:00:00Z'), unsaid: true })
  expect(of('2026-11-27', '06:30')).toEqual({ at: new Date('2026-11-27T13:30:00Z'), unsaid: false })
  expect(of('2026-11-30', '')).toEqual({ at: null, unsaid: false })
  expect(of('2026-11-30', '06:30')).toEqual({ at: new Date('2026-11-30T13:30:00Z'), unsaid: false })
  expect(of('', '06:30')).toBeNull()
})
it('takes nothing that is no time, rather than now', () => {
  expect(whenOf('2026-03-08', '2 pm', '2026-03-20')).toBeNull()
})
it('says in words that no time was said, and cuts nothing off', () => {
  expect(toldOf(' Slipped ', true)).toBe('Slipped (The time of day was not said.)')
  expect(toldOf(' Slipped ', false)).toBe('Slipped')
  expect(toldOf('x'.repeat(mostOf(true)), true)).toHaveLength(4000)
})
