import { describe, expect, it } from 'vitest'
import {
  askWords,
  coversWords,
  limitWords,
  listed,
  rhythmGroup,
  rhythmOrder,
  rhythmWords,
  signedBy,
  sourceWords,
} from './plans'
import { readRule, ruleWords, writeRule, type Rule } from './recur'

const MONDAY = '2024-01-01T08:00:00'
const read = (rule: string, start = MONDAY) => readRule(rule, start) as Rule

describe('a rule of the calendar', () => {
  it('takes from its start what it does not name', () => {
    expect(ruleWords(read('FREQ=WEEKLY'))).toBe('Each Monday at 08:00')
    expect(ruleWords(read('FREQ=MONTHLY', '2024-01-22T07:30:00'))).toBe('On the 22nd of each month at 07:30')
    expect(ruleWords(read('FREQ=YEARLY', '2024-03-11T08:00:00'))).toBe('Each year on 11 March at 08:00')
  })
  it('is said as people say it', () => {
    expect(ruleWords(read('FREQ=WEEKLY;BYDAY=TH,MO'))).toBe('Each Monday and Thursday at 08:00')
    expect(ruleWords(read('FREQ=WEEKLY;INTERVAL=2;BYDAY=SU'))).toBe('Every 2 weeks on Sunday at 08:00')
    expect(ruleWords(read('FREQ=MONTHLY;INTERVAL=3;BYMONTHDAY=-1'))).toBe(
      'Every 3 months on the last day at 08:00',
    )
    expect(ruleWords(read('FREQ=YEARLY;BYMONTH=3,9;BYMONTHDAY=1'))).toBe(
      'Each year on 1 March and 1 September at 08:00',
    )
  })
  it('is left alone where the form has no field for it', () => {
    for (const rule of [
      'FREQ=MONTHLY;BYDAY=2TU',
      'FREQ=WEEKLY;BYDAY=1MO',
      'FREQ=DAILY;BYHOUR=6',
      'FREQ=MONTHLY;BYMONTHDAY=1,15',
      'FREQ=HOURLY',
      'nonsense',
    ])
      expect(readRule(rule, MONDAY), rule).toBeNull()
    expect(rhythmWords({ every: 'calendar', rule: 'FREQ=MONTHLY;BYDAY=2TU', start: MONDAY })).toBe(
      'By a rule of its own, FREQ=MONTHLY;BYDAY=2TU, from 1 Jan 2024 08:00',
    )
  })
  it('begins on a day that it names, never before its old start', () => {
    expect(writeRule({ ...read('FREQ=WEEKLY'), days: ['SU', 'WE'], at: '07:15' }, MONDAY)).toEqual({
      rule: 'FREQ=WEEKLY;BYDAY=WE,SU',
      start: '2024-01-03T07:15:00',
    })
    expect(writeRule({ ...read('FREQ=MONTHLY'), monthDay: 31 }, '2024-02-05T08:00:00')).toEqual({
      rule: 'FREQ=MONTHLY;BYMONTHDAY=31',
      start: '2024-01-31T08:00:00',
    })
    expect(writeRule({ ...read('FREQ=YEARLY'), months: [9, 2], monthDay: -1 }, MONDAY)).toEqual({
      rule: 'FREQ=YEARLY;BYMONTH=2,9;BYMONTHDAY=-1',
      start: '2024-02-29T08:00:00',
    })
  })
  it('comes back as it was written', () => {
    for (const rule of [
      'FREQ=DAILY;INTERVAL=2',
      'FREQ=WEEKLY;BYDAY=MO,FR',
      'FREQ=MONTHLY;BYMONTHDAY=15',
      'FREQ=YEARLY;BYMONTH=6;BYMONTHDAY=1',
    ]) {
      const written = writeRule(read(rule), MONDAY)
      expect(written.rule).toBe(rule)
      expect(ruleWords(read(written.rule, written.start))).toBe(ruleWords(read(rule)))
    }
  })
})

describe('a plan in words', () => {
  it('says how often', () => {
    expect(rhythmWords({ every: 'use' })).toBe('After each use')
    expect(rhythmWords({ every: 'months', months: 12 })).toBe('12 months after the last pass')
    expect(rhythmWords({ every: 'event', events: ['drop', 'overload', 'run_over'] })).toBe(
      'After a drop, an overload or being run over, before the next use',
    )
    expect(rhythmGroup({ every: 'calendar', rule: 'FREQ=WEEKLY;BYDAY=MO', start: MONDAY })).toBe('Weekly')
    expect(rhythmGroup({ every: 'months', months: 36 })).toBe('Every 36 months')
  })
  it('comes in the order in which it comes round', () => {
    const order = [
      rhythmOrder({ every: 'use' }),
      rhythmOrder({ every: 'shift' }),
      rhythmOrder({ every: 'calendar', rule: 'FREQ=WEEKLY', start: MONDAY }),
      rhythmOrder({ every: 'calendar', rule: 'FREQ=MONTHLY', start: MONDAY }),
      rhythmOrder({ every: 'months', months: 12 }),
      rhythmOrder({ every: 'months', months: 36 }),
      rhythmOrder({ every: 'event', events: ['fire'] }),
    ]
    expect(order).toEqual(order.toSorted((a, b) => a - b))
    expect(new Set(order).size).toBe(order.length)
  })
  it('says who signs', () => {
    expect(signedBy('makers_service')).toBe('Signed by the maker’s service, with its paper')
    expect(signedBy('officer')).toBe('Signed by an officer')
  })
  it('says what passes', () => {
    expect(limitWords({ kind: 'fixed', min: { value: 2, unit: 's' } }, 'us')).toBe('at least 2 s')
    expect(
      limitWords({ kind: 'share_of_rating', bound: 'at_least', percent: 90, of: 'spreading_force' }, 'us'),
    ).toBe('at least 90 % of the spreading force on its plate')
    expect(limitWords({ kind: 'drift', percent: 50, way: 'up' }, 'us')).toBe(
      'at most 50 % above what it was when new',
    )
    expect(
      askWords({ kind: 'number', measure: 'opening_time', limits: [{ kind: 'makers_bound' }] }, 'us'),
    ).toBe('A number, opening time: within what its maker’s manual names')
    expect(askWords({ kind: 'number', measure: 'other', dimension: 'length' }, 'us')).toBe(
      'A number: recorded as read, any value passes',
    )
    expect(askWords({ kind: 'choice', options: ['full', 'low', 'empty'], passing: ['full'] }, 'us')).toBe(
      'One of “full”, “low” or “empty”; “full” passes',
    )
    expect(askWords({ kind: 'yes_no', sound: false }, 'us')).toBe('Yes or no; sound is “no”')
  })
  it('says where a step comes from, and never leaves it open', () => {
    const step = { id: 'a', title: 'A', ask: { kind: 'note' as const }, fails_as: 'other' as const }
    expect(sourceWords({ ...step, source: { kind: 'practice' } })).toBe('Common practice, no source')
    expect(sourceWords({ ...step, source: { kind: 'published', text: 'A text, 3.1' } })).toBe(
      'Source: A text, 3.1',
    )
  })
  it('says what it covers', () => {
    const model = (id: string) => (id === 'm' ? 'Model M' : undefined)
    expect(coversWords({ kinds: ['cutter', 'ram'] }, model)).toBe('Cutter and Ram')
    expect(coversWords({ kinds: ['ram'], models: ['m'] }, model)).toBe('Ram: only Model M')
    expect(coversWords({ models: ['m', 'x'] }, model)).toBe('Only Model M and a model that is not here')
    expect(coversWords({}, model)).toBe('Nothing')
    expect(listed([])).toBe('')
  })
})
