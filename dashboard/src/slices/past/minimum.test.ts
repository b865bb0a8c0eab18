import { describe, expect, it } from 'vitest'
import { minimumRows, minimumWords, otherTime, shortWords } from './minimum'

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
      '12 h not known, 1 h without a number',
    )
  })
  it('is a file with hours beside the share', () => {
    const row = { id: 'n', name: 'North', minimum: 1, months: [], total, short: [], short_count: 0 }
    const [head, line] = minimumRows('2026', [row])
    expect(line?.slice(0, 6)).toEqual(['North', '2026', 1, 86.1, 62, 10])
    expect(line).toHaveLength(head?.length ?? 0)
  })
})
