import { describe, expect, it } from 'vitest'
import type { FieldTrial, FieldTrialResult } from '@/api/types'
import { missingWords, spreadWords } from '@/words/trial'
import { differing, fileRows } from './rows'

const [ada, ben] = [
  { id: 'a', name: 'Ada' },
  { id: 'b', name: 'Ben' },
]
const trial = {
  id: 't',
  name: 'Cutters',
  state: 'closed',
  candidates: [
    { name: 'Dorvan C9', kind: 'cutter', model: null },
    { name: 'Kestrel 90', kind: 'cutter', model: null },
  ],
  questions: [{ text: 'Grip', weight: 3, lowest: 'slips', highest: 'sits' }],
  measurements: [{ what: 'weight', how: 'On the scale', unit: 'kg', better: 'lower' }],
  evaluators: [ada, ben],
  opened_at: '2026-11-25T14:00:00Z',
  opened_by: ada,
  ended_at: '2026-11-26T14:00:00Z',
  ended_by: ada,
  conclusion: null,
} as unknown as FieldTrial
const answer = (evaluator: typeof ada, points: number | null, words: string | null = null) => ({
  evaluator,
  points,
  words,
})
const spread = { count: 2, lowest: 2, lower_quartile: 2.5, median: 3, upper_quartile: 3.5, highest: 4 }
const result = {
  trial: 't',
  held_back: null,
  evaluators: [
    { evaluator: ada, handed_in: [1, 2], missing: [] },
    { evaluator: ben, handed_in: [1], missing: [2] },
  ],
  candidates: [
    {
      candidate: 1,
      scores: [
        { evaluator: ada, mean: 4, answered: 1, missing: 0 },
        { evaluator: ben, mean: 2, answered: 1, missing: 0 },
      ],
      spread,
      place_words: 'not told',
      questions: [{ question: 1, dissent: true, answers: [answer(ada, 4), answer(ben, 2, '=slips')] }],
      measurements: [{ measurement: 1, unit: 'kg', measured: null, readings: [] }],
    },
    {
      candidate: 2,
      scores: [{ evaluator: ada, mean: 3, answered: 1, missing: 0 }],
      spread: null,
      place_words: 'not told',
      questions: [{ question: 1, dissent: false, answers: [answer(ada, null)] }],
      measurements: [],
    },
  ],
  pairs: [{ first: 1, second: 2, both: 1, order: 'too_few', words: 'fewer than 3 evaluators' }],
} as unknown as FieldTrialResult

describe('what a trial comes to', () => {
  it('tells where evaluators differ, with who said what', () => {
    expect(differing(trial, result)).toEqual([
      { candidate: 1, question: 1, text: 'Grip', answers: [answer(ada, 4), answer(ben, 2, '=slips')] },
    ])
  })

  it('says what is missing as missing', () => {
    expect(missingWords(trial, result)).toEqual(['Ben: nothing about Kestrel 90'])
    const none = { evaluators: [{ evaluator: ben, handed_in: [], missing: [1, 2] }] }
    expect(missingWords(trial, none)).toEqual(['Ben: nothing handed in'])
  })

  it('has in its file the agency, the evaluators, every answer, and no number for one that is missing', () => {
    const rows = fileRows('Harrow', trial, result, (at) => at)
    expect(rows).toContainEqual(['Agency', 'Harrow'])
    expect(rows).toContainEqual(['Evaluator', 'Ben', '1 of 2 sheets handed in'])
    expect(rows).toContainEqual(['Closed', '2026-11-26T14:00:00Z', 'Ada'])
    expect(rows).toContainEqual(['Dorvan C9', 'not told', 2, 2, 2.5, 3, 3.5, 4])
    expect(rows).toContainEqual(['Kestrel 90', 'not told', 0, null, null, null, null, null])
    expect(rows).toContainEqual(['Dorvan C9', 'Grip', 3, 'slips', 'sits', 'Ben', 2, '=slips', 'yes'])
    expect(rows).toContainEqual(['Kestrel 90', 'Grip', 3, 'slips', 'sits', 'Ada', 'no answer', '', 'no'])
    expect(rows).toContainEqual(['fewer than 3 evaluators'])
  })

  it('says how scores lie, and of one evaluator that it is one', () => {
    expect(spreadWords(spread)).toBe('2 to 4, the middle half 2.5 to 3.5, of 2 evaluators')
    expect(spreadWords({ ...spread, count: 1 })).toBe('3, of one evaluator alone')
  })
})
