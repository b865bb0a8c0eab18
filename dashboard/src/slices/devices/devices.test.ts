import { describe, expect, it } from 'vitest'
import { codeOf, left, pinFault } from './devices'

describe('an enrolment code', () => {
  it('is read however it is typed', () => {
    for (const text of ['7KQ4-M2XP', '7kq4m2xp', ' 7kq4 m2xp ', 'https://fullset.example/enrol#7KQ4-M2XP'])
      expect(codeOf(text)).toBe('7KQ4-M2XP')
    expect(codeOf('7k')).toBe('7K')
  })
  it('counts down and then is over', () => {
    const until = '2026-11-25T12:10:00Z'
    expect(left(until, Date.parse('2026-11-25T12:00:55Z'))).toBe('9:05')
    expect(left(until, Date.parse('2026-11-25T12:10:00Z'))).toBe('')
    expect(left('nonsense', 0)).toBe('')
  })
})

describe('a PIN', () => {
  it('has six digits, twice the same, and is not the first that somebody tries', () => {
    expect(pinFault('12345', '12345')).toContain('Six digits')
    expect(pinFault('12a456', '12a456')).toContain('Six digits')
    expect(pinFault('111111', '111111')).toContain('guess')
    expect(pinFault('123456', '123456')).toContain('guess')
    expect(pinFault('987654', '987654')).toContain('guess')
    expect(pinFault('402917', '402971')).toContain('not the same')
    expect(pinFault('402917', '402917')).toBe('')
  })
})
