import { describe, expect, it } from 'vitest'
import { offered, sameAsLast, sameUse, useBody } from './use'

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
