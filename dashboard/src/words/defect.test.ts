import { describe, expect, it } from 'vitest'
import type { DefectRule } from '@/api/types'
import { choiceOf, CLASS_LIST, classesOf, repairDay, ruleFor } from './defect'

const rule = (fields: Partial<DefectRule>): DefectRule => ({
  kind: 'hose',
  class: 'leak',
  words: 'leaking',
  signs: 'technician',
  ending: 'returns',
  source: 'common practice, no source',
  usable_by: 'nobody',
  limit: null,
  repair_by_days: null,
  shop_must_see: true,
  readings: [],
  shipped: { usable_by: 'officer', limit: null, within: null, signs: 'technician', readings: [] },
  own: null,
  ...fields,
})

describe('a class of defect', () => {
  it('that may never stay usable offers nothing else, and says why', () => {
    expect(choiceOf(rule({}), 'admin')).toMatchObject({
      usable: false,
      why: expect.stringContaining('until the shop has seen it'),
    })
  })
  it('that only an officer may call usable is not for the crew', () => {
    const other = rule({
      class: 'other',
      usable_by: 'officer',
      limit: 'Only for light work.',
      repair_by_days: 10,
    })
    expect(choiceOf(other, 'crew')).toMatchObject({ usable: false, why: expect.stringContaining('officer') })
    expect(choiceOf(other, 'officer')).toEqual({
      usable: true,
      why: '',
      limit: 'Only for light work.',
      days: 10,
    })
  })
  it('without a rule on this phone goes out of service: unknown is not usable', () => {
    expect(choiceOf(undefined, 'officer').usable).toBe(false)
    expect(choiceOf(rule({ usable_by: 'crew' }), 'crew').usable).toBe(true)
  })
  it('is offered only where such a piece can have it, all of them while no rules are here', () => {
    const rules = [rule({ kind: 'battery', class: 'flood' }), rule({ class: 'kink' })]
    expect(classesOf(rules, 'battery')).toEqual(['flood'])
    expect(classesOf(rules, 'hose')).toEqual(['kink'])
    expect(classesOf([], 'battery')).toEqual(CLASS_LIST)
    expect(ruleFor(rules, 'battery', 'kink')).toBeUndefined()
  })
  it('may be used until the day after discovery and the days that its class gives', () => {
    expect(repairDay(3, '2026-11-27')).toBe('2026-12-01')
    expect(repairDay(10, '2026-12-28')).toBe('2027-01-08')
    expect(repairDay(null, '2026-11-27')).toBeNull()
  })
})
