import { describe, expect, it } from 'vitest'
import { queueMark, queueWords } from './queue'

describe('the outbox in words', () => {
  it('says first what needs a person', () => {
    expect(queueWords({ waiting: 2, refused: 1, conflicts: 1, photos: 3 })).toBe(
      '1 act to decide, 1 refused, 2 acts waiting, 3 photos waiting',
    )
    expect(queueWords({ waiting: 0, refused: 0, conflicts: 0, photos: 0 })).toBe(
      'Nothing waits on this phone',
    )
  })
  it('gives each state a shape of its own, and an unknown one its word', () => {
    const states = ['waiting', 'sending', 'blocked', 'sent', 'refused', 'conflict']
    expect(new Set(states.map((s) => queueMark(s, s).shape)).size).toBe(states.length)
    expect(queueMark('new', 'New')).toEqual({ shape: 'unknown', tone: 'quiet', word: 'New' })
  })
})
