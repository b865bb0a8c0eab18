import { describe, expect, it } from 'vitest'
import type { FieldTrial, TrialMeasurement } from '@/api/types'
import {
  answered,
  begin,
  begun,
  give,
  halfSaid,
  handInBody,
  readReading,
  refuse,
  screenAt,
  take,
} from './sheet'

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

  it('leaves a question open of which only words were written', () => {
    const paper = give(begin(trial, 1), 0, { points: undefined, words: 'Heavy' })
    expect(paper.answers.map(halfSaid)).toEqual([true, false])
    expect([answered(paper), begun(paper)]).toEqual([0, true])
    expect(halfSaid({ points: null, words: 'Heavy' })).toBe(false)
    expect(halfSaid({ points: undefined, words: ' ' })).toBe(false)
    // Handed in all the same it is no answer, never a number.
    expect(handInBody(paper).answers[0]).toEqual({ points: null, words: 'Heavy' })
  })

  it('takes a refused reading out, and keeps why', () => {
    const two = take(take(begin(trial, 1), 0, { value: 450, unit: 'lb', id: 'a' }), 0, {
      ...{ value: 42, unit: 'lb', id: 'b' },
    })
    const left = refuse(two, 'a', 'Too heavy')
    expect(left.readings).toEqual([[{ value: 42, unit: 'lb', id: 'b' }]])
    expect(left.refused).toEqual([{ n: 0, value: { value: 450, unit: 'lb' }, why: 'Too heavy' }])
    expect(refuse(left, 'a', 'Too heavy')).toBe(left)
  })

  it('keeps readings apart by what was measured', () => {
    expect(take(begin(trial, 1), 0, { value: 19.4, unit: 'kg' }).readings).toEqual([
      [{ value: 19.4, unit: 'kg' }],
    ])
  })

  it('reads a number alone in the unit of the measurement, and asks where it can be meant in two ways', () => {
    expect(readReading('19.4', scale)).toEqual({ is: 'read', rating: { value: 19.4, unit: 'kg' } })
    expect(readReading('42,5 lb', scale)).toEqual({ is: 'read', rating: { value: 42.5, unit: 'lb' } })
    for (const open of ['19,400', '9.500', '9,500 lb']) expect(readReading(open, scale).is, open).toBe('open')
    for (const wrong of ['4.1 s', '-3', '19.4 t', 'heavy', '19.4/19.6'])
      expect(readReading(wrong, scale).is, wrong).toBe('unreadable')
    expect(readReading(' ', scale).is).toBe('empty')
  })
})
