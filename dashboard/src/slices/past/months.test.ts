import { beforeAll, afterAll, describe, expect, it } from 'vitest'
import type { StandingItem } from '@/api/types'
import { useZone } from '@/words/time'
import {
  addMonths,
  edgesOf,
  firstKnown,
  figuresOf,
  KNOWN_PARTS,
  knownWords,
  partOf,
  partsOf,
  percent,
  stretches,
} from './months'

beforeAll(() => useZone('America/Denver'))
afterAll(() => useZone('UTC'))
const shares = { known_seconds: 500, seconds: 1000, full: 0.8, limited: 0.2, none: 0, planned: 0 }

describe('shares', () => {
  it('are drawn of the whole time and told of what is known', () => {
    expect(partsOf(shares)).toEqual({ full: 0.4, limited: 0.1, none: 0, planned: 0, unknown: 0.5 })
    expect(figuresOf(shares)).toEqual({ full: 0.8, limited: 0.2, none: 0, planned: 0, unknown: 0.5 })
  })
  it('of which nothing is known are not nought', () => {
    const none = { known_seconds: 0, seconds: 10, full: null, limited: null, none: null, planned: null }
    expect(figuresOf(none)?.full).toBeNull()
    expect(percent(figuresOf(none)?.full)).toBe('not known')
    expect(partsOf({ ...none, seconds: 0 })).toBeNull()
  })
  it('are rounded to neither nothing nor all', () => {
    expect([0, 0.0004, 0.5, 0.97449, 0.9996, 1].map((s) => percent(s))).toEqual([
      '0 %',
      'under 0.1 %',
      '50.0 %',
      '97.4 %',
      'over 99.9 %',
      '100 %',
    ])
  })
})

describe('months', () => {
  it('go over the end of a year', () => {
    expect(addMonths('2026-01', -1)).toBe('2025-12')
    expect(addMonths('2025-12', 13)).toBe('2027-01')
  })
  it('begin at midnight on the agency’s clock', () => {
    const { from, until } = edgesOf('2026-11')
    expect(from.toISOString()).toBe('2026-11-01T06:00:00.000Z')
    expect(until.toISOString()).toBe('2026-12-01T07:00:00.000Z')
  })
})

describe('the stretches of a period', () => {
  const item = (
    from: string,
    until: string | null,
    level: 'full' | 'none',
    planned = false,
  ): StandingItem => ({
    from,
    until,
    level,
    planned,
    revision: 1,
    kind: null,
    by: null,
    words: null,
  })
  const from = new Date('2026-11-01T00:00:00Z')
  const until = new Date('2026-11-11T00:00:00Z')
  const now = new Date('2026-11-06T00:00:00Z')
  const list = stretches(
    [
      item('2026-11-04T00:00:00Z', null, 'none', true),
      item('2026-11-02T00:00:00Z', '2026-11-03T00:00:00Z', 'full'),
    ],
    from,
    until,
    now,
  )
  it('stand newest first, with what is not known between them', () => {
    expect(list.map(partOf)).toEqual(['planned', 'unknown', 'full', 'unknown'])
  })
  it('add up to the period up to now', () => {
    expect(list.reduce((n, s) => n + s.ms, 0)).toBe(now.getTime() - from.getTime())
    expect(list[0]?.ms).toBe(2 * 86_400_000)
  })
})

describe('what is drawn of months', () => {
  const shares = (known_seconds: number) => ({
    ...{ known_seconds, seconds: 2_592_000 },
    ...{ full: null, limited: null, none: null, planned: null },
  })
  it('leaves out months before the record, not gaps within it', () => {
    expect(firstKnown([shares(0), shares(0), shares(5), shares(0)])).toBe(2)
    expect(firstKnown([shares(0), undefined])).toBe(2)
    expect(firstKnown([])).toBe(0)
  })
  it('is headed with the months that are known, not with those that were asked for', () => {
    const months = ['2025-12', '2026-05', '2026-06', '2026-07', '2026-11']
    expect(knownWords(months, [0, 0, 5, 0, 5].map(shares))).toBe('Jun to Nov 2026')
    expect(knownWords(months, [5, 0, 0, 0, 5].map(shares))).toBe('Dec 2025 to Nov 2026')
    expect(knownWords(months, [0, 0, 0, 0, 5].map(shares))).toBe('Nov 2026')
    expect(knownWords(months, [0, 0].map(shares))).toBe('')
  })
  it('keeps what is not known out of the shares that make a hundred', () => {
    expect(KNOWN_PARTS.map((part) => part.key)).toEqual(['full', 'limited', 'none', 'planned'])
  })
})
