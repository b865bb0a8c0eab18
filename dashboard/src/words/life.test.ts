import { describe, expect, it } from 'vitest'
import { lifeWords, madeWords, whatWords } from './life'

describe('dates of make and lives', () => {
  it('says a month where the label names no day, and unknown where nobody knows', () => {
    expect(madeWords('2019-05-14')).toBe('14 May 2019')
    expect(madeWords('2019-05')).toBe('May 2019')
    expect(madeWords('2019')).toBe('2019')
    expect(madeWords('2019-11')).toBe('Nov 2019')
    expect(madeWords(null)).toBe('unknown')
  })

  it('names the part, and years and cycles', () => {
    expect(whatWords({ kind: 'hose', part: 'whole' })).toBe('Hose')
    expect(whatWords({ kind: 'combination_tool', part: 'whip_hose' })).toBe('Combination tool, whip hose')
    expect(lifeWords({ years: 1 })).toBe('1 year')
    expect(lifeWords({ years: 5, cycles: 500 })).toBe('5 years or 500 charge cycles')
    expect(lifeWords({})).toBe('as long as the policy says for hoses')
  })
})
