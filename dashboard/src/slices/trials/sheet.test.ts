import { describe, expect, it } from 'vitest'
import type { FieldTrial, TrialMeasurement } from '@/api/types'
import { answered, begin, begun, give, handInBody, readReading, screenAt, take } from './sheet'

const scale = { what: 'weight', how: 'On the scale', unit: 'kg', better: 'lower' } as TrialMeasurement
const question = { text: 'Grip', weight: 1, lowest: 'slips', highest: 'sits' }
const trial = {
  id: 't',
  questions: [question, question],
  measurements: [scale],
} as unknown as FieldTrial

describe('a sheet', () => {
  it('has a screen for each question, then one for each measurement, then the end', () => {
    expect([0, 1, 2, 3, 99, -1].map((at) => screenAt(trial, at))).toEqual([
      { is: 'question', n: 0 },
      { is: 'question', n: 1 },
      { is: 'measurement', n: 0 },
      { is: 'end' },
      { is: 'end' },
      { is: 'end' },
    ])
  })

  it('sends what was not answered as no answer, never as a number', () => {
    let paper = begin(trial, 2)
    expect([answered(paper), begun(paper)]).toEqual([0, false])
    paper = give(paper, 1, { points: 1, words: ' slips when wet ' })
    expect(handInBody(paper)).toEqual({
      id: 't',
      candidate: 2,
      answers: [
        { points: null, words: null },
        { points: 1, words: 'slips when wet' },
      ],
    })
    paper = give(paper, 0, { points: null, words: '' })
    expect([answered(paper), begun(paper)]).toEqual([1, true])
  })

  it('keeps readings apart by what was measured', () => {
    expect(take(begin(trial, 1), 0, { value: 19.4, unit: 'kg' }).readings).toEqual([
      [{ value: 19.4, unit: 'kg' }],
    ])
  })

  it('reads a number alone in the unit of the measurement, and asks where it can be meant in two ways', () => {
    expect(readReading('19.4', scale)).toEqual({ is: 'read', rating: { value: 19.4, unit: 'kg' } })
    expect(readReading('42,5 lb', scale)).toEqual({ is: 'read', rating: { value: 42.5, unit: 'lb' } })
    expect(readReading('19,400', scale).is).toBe('open')
    for (const wrong of ['4.1 s', '-3', '19.4 t', 'heavy', '19.4/19.6'])
      expect(readReading(wrong, scale).is, wrong).toBe('unreadable')
    expect(readReading(' ', scale).is).toBe('empty')
  })
})
