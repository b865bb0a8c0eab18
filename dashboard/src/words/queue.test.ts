import { describe, expect, it } from 'vitest'
import { doneMark, nothingWaitsWords, queueMark, queueWords } from './queue'

describe('the outbox in words', () => {
  it('says first what needs a person', () => {
    expect(queueWords({ waiting: 2, refused: 1, conflicts: 1, photos: 3 })).toBe(
      '1 report to decide, 1 not accepted, 2 reports waiting, 3 photos waiting',
    )
    expect(queueWords({ waiting: 0, refused: 0, conflicts: 0, photos: 0 })).toBe(
      'Nothing waits on this phone',
    )
  })
  it('never says that all has reached the server when something did not', () => {
    expect(nothingWaitsWords([])).toBe('Nothing was reported from this phone yet.')
    expect(nothingWaitsWords(['sent', 'sent'])).toBe('What you reported has reached the server.')
    for (const how of ['withdrawn', 'refused', 'conflict'] as const)
      expect(nothingWaitsWords(['sent', how])).toBe(
        'Nothing waits. 1 of the last 2 did not reach the records: see below.',
      )
    expect(doneMark('withdrawn').word).toBe('Withdrawn, never sent')
  })
  it('gives each state a shape of its own, and an unknown one its word', () => {
    const states = ['waiting', 'sending', 'blocked', 'sent', 'refused', 'conflict']
    expect(new Set(states.map((s) => queueMark(s, s).shape)).size).toBe(states.length)
    expect(queueMark('new', 'New')).toEqual({ shape: 'unknown', tone: 'quiet', word: 'New' })
  })
})
