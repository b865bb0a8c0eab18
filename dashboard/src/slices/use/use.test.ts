import { describe, expect, it } from 'vitest'
import { useBody } from './use'

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
