import { describe, expect, it } from 'vitest'
import { metWords, minimumRows, minimumWords, otherTime, shortWords } from './minimum'

const total = {
  met_seconds: 223_200,
  short_seconds: 36_000,
  unknown_seconds: 0,
  unset_seconds: 0,
  met: 0.861,
}

describe('a district at its minimum', () => {
  it('says what it needs, what it had, and the time that no share is of', () => {
    expect([minimumWords(0), minimumWords(1), minimumWords(3)]).toEqual([
      'no number set',
      '1 full rig',
      '3 full rigs',
    ])
    const short = { from: '2026-12-03T07:00:00Z', until: '2026-12-03T17:00:00Z', fewest: 0, needed: 2 }
    expect(shortWords(short)).toBe('none full of 2 needed')
    expect(shortWords({ ...short, fewest: 1 })).toBe('1 full of 2 needed')
    expect(otherTime(total)).toBe('')
    expect(otherTime({ ...total, unknown_seconds: 43_200, unset_seconds: 3600 })).toBe(
      '12 hours not known, 1 hour with no number set',
    )
    expect(otherTime({ ...total, unset_seconds: 3655 * 3600 })).toBe('152 days with no number set')
  })
  it('never shows a share of part of the time as one of all of it', () => {
    const day = 86_400
    const half = { ...total, met: 1, met_seconds: 180 * day, short_seconds: 0, unset_seconds: 152 * day }
    expect(metWords(half, 'year')).toBe('100 % of the 54 % of the year that can be told')
    expect(metWords({ ...half, unset_seconds: 0 }, 'year')).toBe('100 %')
    // One hour that is not known is said as well.
    expect(metWords({ ...half, unset_seconds: 0, unknown_seconds: 3600 }, 'quarter')).toBe(
      '100 % of the 99 % of the quarter that can be told',
    )
    expect(metWords({ ...half, met: null, met_seconds: 0 }, 'month')).toBe('not known')
  })
  it('is a file with hours beside the share', () => {
    const row = { id: 'n', name: 'North', minimum: 1, months: [], total, short: [], short_count: 0 }
    const [head, line] = minimumRows('2026', [row])
    expect(line?.slice(0, 6)).toEqual(['North', '2026', 1, 86.1, 62, 10])
    expect(line).toHaveLength(head?.length ?? 0)
  })
})
