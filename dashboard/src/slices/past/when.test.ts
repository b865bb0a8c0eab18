import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { useZone } from '@/words/time'
import { addressOf, ageAt, atOrAfter, back, instantsOf, lasting, plainDays, readAt, stampZone } from './when'

const now = new Date('2026-11-25T18:00:00Z')
beforeAll(() => useZone('America/Denver'))
afterAll(() => useZone('UTC'))

describe('an instant in the address', () => {
  it('is read on the agency’s clock when it has no offset', () => {
    expect(readAt('2026-11-24T05:00', now)).toEqual({ is: 'instant', at: new Date('2026-11-24T12:00:00Z') })
    expect(readAt('2026-07-01', now)).toEqual({ is: 'instant', at: new Date('2026-07-01T06:00:00Z') })
  })
  it('is taken as it stands when it has one, also after a plus sign became a space', () => {
    const at = new Date('2026-11-24T12:00:00Z')
    expect(readAt('2026-11-24T12:00:00Z', now)).toEqual({ is: 'instant', at })
    expect(readAt('2026-11-24T14:00:00 02:00', now)).toEqual({ is: 'instant', at })
  })
  it('is refused when it is none, and not carried over into the next month or day', () => {
    for (const text of ['', 'yesterday', '2026-06-31T08:00', '2026-06-30T25:00', '2026-06-30T08:61'])
      expect(readAt(text, now).is, text).toBe('unreadable')
  })
  it('says what has not come yet', () => {
    expect(readAt('2026-11-25T12:00', now).is).toBe('future')
    expect(readAt('2026-11-25T18:00:01Z', now).is).toBe('future')
  })
  it('says what the clocks skipped, with the minutes on both sides', () => {
    expect(readAt('2026-03-08T02:30', now)).toEqual({
      is: 'skipped',
      before: new Date('2026-03-08T08:59:00Z'),
      after: new Date('2026-03-08T09:00:00Z'),
    })
  })
  it('says what came twice, the first one first', () => {
    expect(readAt('2026-11-01T01:30', now)).toEqual({
      is: 'twice',
      at: new Date('2026-11-01T07:30:00Z'),
      second: new Date('2026-11-01T08:30:00Z'),
    })
  })
  it('goes out with its offset and comes back as the same instant', () => {
    for (const text of [
      '2026-07-04T02:03:00Z',
      '2026-11-01T07:30:00Z',
      '2026-11-01T08:30:00Z',
      '2026-03-08T09:00:00Z',
    ])
      expect(readAt(addressOf(new Date(text)), now), text).toEqual({ is: 'instant', at: new Date(text) })
    expect(addressOf(new Date('2026-11-01T08:30:00Z'))).toBe('2026-11-01T01:30:00-07:00')
  })
})

describe('a wall time', () => {
  it('names no, one or two instants', () => {
    expect(instantsOf('2026-03-08', '02:00')).toEqual([])
    expect(instantsOf('2026-03-08', '03:00')).toHaveLength(1)
    expect(instantsOf('2026-11-01', '01:00')).toHaveLength(2)
  })
  it('is found where a clock is put forward by half an hour or over midnight', () => {
    expect(atOrAfter('2026-10-04', '02:10', 'Australia/Lord_Howe').toISOString()).toBe(
      '2026-10-03T15:30:00.000Z',
    )
    expect(atOrAfter('2026-04-24', '00:00', 'Africa/Cairo').toISOString()).toBe('2026-04-23T22:00:00.000Z')
  })
})

describe('quick choices', () => {
  it('keep the time of the day over a change of the clocks', () => {
    expect(back('week', new Date('2026-11-03T15:00:00Z')).toISOString()).toBe('2026-10-27T14:00:00.000Z')
  })
  it('go from the 31st to the last day of a shorter month', () => {
    expect(addressOf(back('month', new Date('2026-03-31T18:00:00Z')))).toMatch(/^2026-02-28T12:00/)
  })
  it('go on after a time that the clocks skipped', () => {
    expect(back('day', new Date('2026-03-09T08:30:00Z')).toISOString()).toBe('2026-03-08T09:00:00.000Z')
  })
  it('go back one hour of time, not of the clock', () => {
    expect(back('hour', new Date('2026-11-01T08:30:20Z')).toISOString()).toBe('2026-11-01T07:30:00.000Z')
  })
})

describe('words', () => {
  it('name the day and the zone', () => {
    expect(stampZone('2026-11-24T12:00:00Z')).toBe('Tue 24 Nov 2026 05:00 MST')
    expect(stampZone('2026-07-04T12:00:00Z')).toBe('Sat 4 Jul 2026 06:00 MDT')
  })
  it('take days out of the server’s words', () => {
    expect(plainDays('out of service since 2026-11-25 03:41, cut')).toBe(
      'out of service since 25 Nov 2026 03:41, cut',
    )
    expect(plainDays('serial 2026-99-12')).toBe('serial 2026-99-12')
  })
  it('count an age in whole months and years, and know none without a date', () => {
    const at = new Date('2026-11-24T12:00:00Z')
    expect(ageAt('2025-11-25', at)).toBe('11 months')
    expect(ageAt('2017-09-17', at)).toBe('9 years')
    expect(ageAt(null, at)).toBeNull()
  })
  it('tell how long in the unit a person would use', () => {
    expect([45, 60, 121, 3000, 60 * 24 * 12].map((m) => lasting(m * 60_000))).toEqual([
      '45 min',
      '1 h',
      '2 h 1 min',
      '2.1 days',
      '12 days',
    ])
  })
})
