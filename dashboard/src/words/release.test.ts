import { describe, expect, it } from 'vitest'
import type { Needed, NeededReading } from '@/api/types'
import { asksOf, asksOfMissing, faultOf, faultsOf, needsPaper, readingsOf, unanswered } from './release'

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
    const none = { low: null, high: null, sound: null, bounds: '' }
    expect(asksOfMissing(missing, 'us')).toEqual([
      {
        ...none,
        key: 'closing_time',
        label: 'Closing time',
        unit: 's',
        hint: 'at least 2 s',
        low: 2,
        bounds: 'at least 2 s',
      },
      { ...none, key: 'charge', label: 'Takes and holds its charge', unit: null, hint: '' },
    ])
  })
  it('marks what is outside its limits before it is sent, at the bound and just beyond it', () => {
    const asks = asksOf(needed, 'us')
    const [pressure, leak, push] = asks
    if (!pressure || !leak || !push) throw new Error('three readings are asked')
    expect(faultOf(pressure, '10290')).toBe('')
    expect(faultOf(pressure, '10289')).toBe('Outside its limits: it must be at least 10,290 psi')
    expect(faultOf(pressure, '')).toBe('')
    expect(faultOf(leak, 'no')).toBe('')
    expect(faultOf(leak, 'yes')).toContain('It must be no')
    expect(faultOf(push, '1')).toBe('')
    expect(faultsOf(asks, { pressure_reached: '5000', leak_at_end_stop: 'yes', push_force: '1' })).toEqual([
      'Pressure reached: 5,000 psi, it must be at least 10,290 psi',
      'Leak at the end stop: yes, it must be no',
    ])
  })
  it('judges a value in the unit that the form asks for', () => {
    const [pressure] = asksOf(needed, 'si')
    if (!pressure) throw new Error('a pressure is asked')
    expect(pressure.unit).toBe('bar')
    expect(faultOf(pressure, '709')).toContain('Outside')
    expect(faultOf(pressure, '710')).toBe('')
  })
})
