import { describe, expect, it } from 'vitest'
import { looksAt, offered, sameAsLast, sameUse, useBody } from './use'

describe('a use record', () => {
  it('carries only what was said', () => {
    expect(useBody('u', 'r', ['p'], { what: ' ', incident: '', minutes: null })).toEqual({
      id: 'u',
      rig: 'r',
      pieces: ['p'],
    })
    expect(useBody('u', 'r', ['p'], { what: 'Drill ', incident: '26-118', minutes: 19.6 })).toEqual({
      id: 'u',
      rig: 'r',
      pieces: ['p'],
      what: 'Drill',
      incident: '26-118',
      minutes: 20,
    })
    expect(useBody('u', 'r', [], { what: '', incident: '', minutes: 0 })).not.toHaveProperty('minutes')
  })
})

describe('a correction', () => {
  it('offers what was used first, then what else is aboard, each once', () => {
    expect(offered({ pieces: ['b', 'gone'] }, ['a', 'b'])).toEqual(['b', 'gone', 'a'])
  })
  it('is none where it says what stands there', () => {
    const was = { pieces: ['a', 'b'], minutes: 20 }
    expect(sameUse(was, { pieces: ['b', 'a'], minutes: 20 })).toBe(true)
    expect(sameUse(was, { pieces: ['a'], minutes: 20 })).toBe(false)
    expect(sameUse(was, { pieces: ['a', 'c'], minutes: 20 })).toBe(false)
    expect(sameUse(was, { pieces: ['a', 'b'], minutes: null })).toBe(false)
    expect(sameUse({ pieces: [] }, { pieces: [], minutes: null })).toBe(true)
  })
})

describe('the same as last time', () => {
  it('is what was used then and is still here', () => {
    expect(
      sameAsLast([{ pieces: [] }, { pieces: ['a', 'b', 'c'] }, { pieces: ['d'] }], ['a', 'c', 'd']),
    ).toEqual(['a', 'c'])
    expect(sameAsLast([], ['a'])).toEqual([])
    expect(sameAsLast([{ pieces: [] }], ['a'])).toEqual([])
  })
})

describe('what was used, looked over after a call', () => {
  const use = {
    pieces: ['a', 'b', 'c', 'd'],
    used_at: '2026-11-29T14:00:00Z',
    checks: [{ pieces: ['b', 'c'] }],
  }
  const fine = { out: false, reported: [] }
  it('is all right where somebody said so, here or on record, and open where nobody did', () => {
    expect([...looksAt(use, ['a'], () => fine)]).toEqual([
      ['a', 'right'],
      ['b', 'right'],
      ['c', 'right'],
      ['d', 'open'],
    ])
    // A use that waits on the phone has no looks on record.
    expect(looksAt({ pieces: ['a'], used_at: use.used_at }, [], () => fine).get('a')).toBe('open')
  })
  it('is wrong where something was reported since, whatever was said before', () => {
    const wrong = (at: string) =>
      looksAt(use, ['a'], (id) => (id === 'a' ? { out: false, reported: [at] } : fine))
    expect(wrong('2026-11-29T14:10:00Z').get('a')).toBe('wrong')
    expect(wrong('2026-11-29T13:59:30Z').get('a')).toBe('wrong')
    expect(wrong('2026-11-28T14:00:00Z').get('a')).toBe('right')
  })
  it('is wrong where it must not be used', () => {
    expect(looksAt(use, ['a'], (id) => ({ out: id === 'a', reported: [] })).get('a')).toBe('wrong')
  })
})
