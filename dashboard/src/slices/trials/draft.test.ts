import { describe, expect, it } from 'vitest'
import { empty, lacks, measurement, openBody, USUAL } from './draft'

const whole = () => ({
  ...empty(),
  name: ' Cutters ',
  candidates: [
    { name: 'Dorvan C9 ', kind: 'cutter' as const, model: '' as const },
    { name: 'Kestrel 90', kind: 'cutter' as const, model: 'm1' },
  ],
  questions: [{ text: 'Grip', weight: 3, lowest: 'slips', highest: 'sits' }],
  evaluators: ['a'],
})

describe('the draft of a trial', () => {
  it('says all that is still empty, and nothing of a whole one', () => {
    expect(lacks(empty())).toEqual([
      'its name',
      'the names of candidates',
      'what each question asks',
      'what 1 and 5 mean in each question',
      'who answers',
    ])
    expect(lacks(whole())).toEqual([])
  })

  it('asks for a weight that is a whole number, and for how each thing is measured', () => {
    for (const weight of [null, 0, 2.5])
      expect(lacks({ ...whole(), questions: [{ ...whole().questions[0]!, weight }] })).toEqual([
        'how much each question weighs, 1 to 10',
      ])
    expect(lacks({ ...whole(), measurements: [measurement('weight', 'si')] })).toEqual([
      'how each thing is measured',
    ])
  })

  it('makes the command of what was typed, trimmed, with no model where none was chosen', () => {
    const body = openBody('t', whole())
    expect(body.name).toBe('Cutters')
    expect(body.candidates).toEqual([
      { name: 'Dorvan C9', kind: 'cutter', model: null },
      { name: 'Kestrel 90', kind: 'cutter', model: 'm1' },
    ])
  })

  it('measures in the units of the agency, lighter and faster and stronger', () => {
    expect(measurement('weight', 'us')).toMatchObject({ unit: 'lb', better: 'lower' })
    expect(measurement('force', 'si')).toMatchObject({ unit: 'kN', better: 'higher' })
    expect(measurement('opening_time', 'us')).toMatchObject({ unit: 's', better: 'lower' })
  })

  it('begins from questions that are whole', () => {
    expect(lacks({ ...whole(), questions: USUAL })).toEqual([])
  })
})
