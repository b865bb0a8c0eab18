import { describe, expect, it } from 'vitest'
import { amount, minutesWords, plural, shareWords } from './share'

describe('a share', () => {
  it('is said with one decimal at most', () => {
    expect(shareWords(0.9281)).toBe('92.8 %')
    expect(shareWords(0.5)).toBe('50 %')
    expect(shareWords(1)).toBe('100 %')
  })
  it('never says all of what is not all, nor nothing of a little', () => {
    expect(shareWords(0.99999)).toBe('99.9 %')
    expect(shareWords(0.00001)).toBe('under 0.1 %')
    expect(shareWords(-0)).toBe('0 %')
    expect(shareWords(null)).toBe('unknown')
  })
  it('has its amounts beside it', () => {
    expect(amount(1781)).toBe('1,781')
    expect(minutesWords(1.5255)).toBe('1.5 min')
    expect(minutesWords(null)).toBe('time unknown')
    expect(plural(1, 'zone')).toBe('1 zone')
    expect(plural(2, 'zone')).toBe('2 zones')
  })
})
