import { beforeAll, describe, expect, it } from 'vitest'
import { crewWords, unsignedWords } from './crew'
import { useZone } from './time'

const now = new Date('2026-11-25T16:00:00Z')
beforeAll(() => useZone('UTC'))

describe('a crew in a line', () => {
  it('names four and counts the rest', () => {
    const members = ['Ann', 'Bo', 'Cy', 'Di', 'Ed'].map((name) => ({ id: name, name }))
    const until = '2026-11-25T19:00:00Z'
    expect(crewWords({ members: members.slice(0, 2), until }, now)).toBe('Ann, Bo until 19:00')
    expect(crewWords({ members, until }, now)).toBe('Ann, Bo, Cy, Di and 1 more until 19:00')
    expect(crewWords({ members: [], until }, now)).toBe('Not crewed until 19:00')
  })
  it('says in one sentence what nobody aboard is signed off on', () => {
    const on = (gear: string) => ({ words: `nobody aboard is signed off on the ${gear}` })
    expect(unsignedWords([on('spreader SP-1')], now)).toBe('Nobody aboard is signed off on the spreader SP-1')
    expect(unsignedWords([on('spreader SP-1'), on('rams RM-1, RM-2')], now)).toBe(
      'Nobody aboard is signed off on the spreader SP-1, the rams RM-1, RM-2',
    )
    const ended = on('ram RM-1; the last sign-off ended 2026-11-01')
    expect(unsignedWords([ended, on('cutter CU-1')], now)).toBe(
      'Nobody aboard is signed off on the ram RM-1; the last sign-off ended 1 Nov 2026; the cutter CU-1',
    )
    // Words that this page does not know stay whole.
    expect(unsignedWords([on('cutter CU-1'), { words: 'something else' }], now)).toMatch(/, something else$/)
  })
})
