import { describe, expect, it } from 'vitest'
import { untilWords } from './verdict'

describe('until when an answer holds', () => {
  const now = new Date('2026-11-25T14:00:00Z')
  it('says what happens then, where that is known', () => {
    const words = untilWords('2026-12-06T07:00:00Z', 'yes', 'annual service of ram RM-7 due', now)
    expect(words).toMatch(/^Good until .+: annual service of ram RM-7 due$/)
    expect(untilWords('2026-12-06T07:00:00Z', 'yes', null, now)).not.toContain(': annual')
    expect(untilWords(null, 'yes', 'whatever', now)).toBe('')
  })
})
