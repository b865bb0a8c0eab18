import { describe, expect, it } from 'vitest'
import type { Needed, NeededReading } from '@/api/types'
import { asksOf, asksOfMissing, needsPaper, readingsOf, unanswered } from './release'

const reading = (fields: Partial<NeededReading>): NeededReading => ({
  measure: 'pressure_reached',
  label: 'pressure reached',
  dimension: 'pressure',
  answer: null,
  low: { value: 10290, unit: 'psi' },
  high: null,
  plate: { value: 10500, unit: 'psi' },
  baseline: null,
  limit_on_record: true,
  ...fields,
})
const needed: Needed = {
  readings: [
    reading({}),
    reading({
      measure: 'leak_at_end_stop',
      label: 'leak at the end stop',
      dimension: null,
      answer: false,
      low: null,
      plate: null,
    }),
    reading({
      measure: 'push_force',
      label: 'pushing force',
      dimension: 'force',
      low: null,
      plate: null,
      limit_on_record: false,
    }),
  ],
  signs: 'technician',
  manual: true,
  ending: 'returns',
  cautions: [],
}

describe('the form of a return', () => {
  const asks = asksOf(needed, 'us')
  it('asks for exactly what is needed, with its limits, and says where none is on record', () => {
    expect(asks.map((a) => [a.label, a.unit, a.hint])).toEqual([
      ['Pressure reached', 'psi', 'at least 10,290 psi, its plate says 10,500 psi'],
      ['Leak at the end stop', null, ''],
      ['Pushing force', 'lbf', 'limit not on record: see the manual'],
    ])
  })
  it('presets nothing: what nobody answered is open, and is not sent', () => {
    expect(unanswered(asks, {})).toHaveLength(3)
    expect(readingsOf(asks, {})).toEqual([])
    expect(readingsOf(asks, { pressure_reached: ' ', push_force: 'x' })).toEqual([])
  })
  it('sends values with their unit and answers as yes or no', () => {
    const answers = { pressure_reached: '10500', leak_at_end_stop: 'no', push_force: '0' }
    expect(unanswered(asks, answers)).toEqual([])
    expect(readingsOf(asks, answers)).toEqual([
      { measure: 'pressure_reached', value: { value: 10500, unit: 'psi' } },
      { measure: 'leak_at_end_stop', yes: false },
      { measure: 'push_force', value: { value: 0, unit: 'lbf' } },
    ])
  })
  it('asks for the maker’s paper where the case ends in retirement without it', () => {
    expect(needsPaper(needed)).toBe(false)
    expect(needsPaper({ ...needed, ending: 'retires_unless_maker' })).toBe(true)
  })
  it('can be made of what a refusal names as missing', () => {
    const missing = [
      { what: 'reading', measure: 'closing_time', low: { value: 2, unit: 's' }, words: 'closing time' },
      { what: 'signature', signs: 'technician', words: 'the word of a technician' },
      { what: 'reading', measure: 'charge', words: 'charge' },
    ]
    expect(asksOfMissing(missing, 'us')).toEqual([
      { key: 'closing_time', label: 'Closing time', unit: 's', hint: 'at least 2 s' },
      { key: 'charge', label: 'Takes and holds its charge', unit: null, hint: '' },
    ])
  })
})
