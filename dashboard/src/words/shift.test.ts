import { afterEach, describe, expect, it } from 'vitest'
import { dutyChoices, dutySince, lastAt, shiftBefore, shiftChoices } from './shift'
import { clock, useZone } from './time'

const at = (text: string) => new Date(text)
afterEach(() => useZone('UTC'))

describe('the last time that the clock showed', () => {
  it('is today or yesterday, by the agency’s clock', () => {
    useZone('America/Denver')
    // 07:10 in Denver.
    expect(lastAt('19:00', at('2026-11-28T14:10:30Z')).toISOString()).toBe('2026-11-28T02:00:00.000Z')
    expect(lastAt('07:00', at('2026-11-28T14:10:30Z')).toISOString()).toBe('2026-11-28T14:00:00.000Z')
    expect(lastAt('07:10', at('2026-11-28T14:10:30Z')).toISOString()).toBe('2026-11-28T14:10:00.000Z')
  })
  it('holds over the nights on which the clocks change', () => {
    useZone('America/Denver')
    for (const now of ['2026-11-01T14:10:00Z', '2026-03-08T13:10:00Z'])
      expect(clock(lastAt('19:00', at(now))), now).toBe('19:00')
    expect(lastAt('19:00', at('2026-11-01T14:10:00Z')).toISOString()).toBe('2026-11-01T01:00:00.000Z')
    expect(lastAt('19:00', at('2026-03-08T13:10:00Z')).toISOString()).toBe('2026-03-08T02:00:00.000Z')
  })
})

describe('the shift before', () => {
  it('is the night for a chief at seven, and the day in the evening', () => {
    const of = (now: string) => shiftBefore(at(now), '07:00:00').toISOString()
    expect(of('2026-11-28T07:10:00Z')).toBe('2026-11-27T19:00:00.000Z')
    expect(of('2026-11-28T14:00:00Z')).toBe('2026-11-28T07:00:00.000Z')
    expect(of('2026-11-28T20:00:00Z')).toBe('2026-11-28T07:00:00.000Z')
    expect(of('2026-11-28T02:00:00Z')).toBe('2026-11-27T19:00:00.000Z')
  })
  it('is chosen from both changes and a whole day, the latest first', () => {
    expect(shiftChoices(at('2026-11-28T07:10:00Z'), '07:00').map((one) => one.toISOString())).toEqual([
      '2026-11-28T07:00:00.000Z',
      '2026-11-27T19:00:00.000Z',
      '2026-11-27T07:10:00.000Z',
    ])
  })
})

describe('what a handover begins with', () => {
  it('is a whole duty day for a crew of 24 hours, whenever it is written or read', () => {
    const of = (now: string) => dutySince(at(now), '07:00:00').toISOString()
    expect(of('2026-11-30T07:49:00Z')).toBe('2026-11-29T07:00:00.000Z')
    expect(of('2026-11-30T20:00:00Z')).toBe('2026-11-29T07:00:00.000Z')
    // Its day is nearly over: the crew that hands over had it from here.
    expect(of('2026-11-30T06:50:00Z')).toBe('2026-11-29T07:00:00.000Z')
  })
  it('is chosen from the last begin of the duty day, twelve hours before it, and the one before', () => {
    expect(dutyChoices(at('2026-11-30T07:49:00Z'), '07:00:00').map((one) => one.toISOString())).toEqual([
      '2026-11-30T07:00:00.000Z',
      '2026-11-29T19:00:00.000Z',
      '2026-11-29T07:00:00.000Z',
    ])
  })
  it('holds over a night on which the clocks change', () => {
    useZone('America/Denver')
    expect(dutyChoices(at('2026-11-01T15:10:00Z'), '07:00').map((one) => clock(one))).toEqual([
      '07:00',
      '19:00',
      '07:00',
    ])
  })
})
