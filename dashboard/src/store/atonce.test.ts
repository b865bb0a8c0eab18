import { describe, expect, it } from 'vitest'
import { takeTapped, tap } from './atonce'

describe('what was tapped on a piece', () => {
  it('is taken up once, and only for that piece', () => {
    tap('a', 'Leak')
    expect(takeTapped('a')).toBe('Leak')
    expect(takeTapped('a')).toBeNull()
  })
  it('is dropped when somebody opens the report of another', () => {
    tap('a', 'Leak')
    expect(takeTapped('b')).toBeNull()
    expect(takeTapped('a')).toBeNull()
  })
})
