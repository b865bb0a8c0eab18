import { describe, expect, it } from 'vitest'
import type { CheckDue, PlanStep, StepAsk, StepSaid } from '@/api/types'
import { lastWords, limitsWords, readingsFor, unitsOf } from './check'
import { dueLine, dueSaid, dueState, dueWords } from './due'
import { failedStep, soundness } from './sound'
import { useZone } from './time'

const NOW = new Date('2026-11-28T20:00:00Z')
const at = (text: string): CheckDue => ({ state: 'at', at: text, why: 'weekly', counts_from: null })

describe('when a check is due', () => {
  it('is overdue from its instant on, and today by the agency’s calendar', () => {
    useZone('America/Denver')
    expect(dueState(at('2026-11-28T20:00:00Z'), NOW)).toBe('overdue')
    expect(dueState(at('2026-11-29T06:59:00Z'), NOW)).toBe('today')
    expect(dueState(at('2026-11-29T07:00:00Z'), NOW)).toBe('later')
    expect(dueWords(at('2026-11-29T01:00:00Z'), NOW)).toBe('Due today at 18:00')
    expect(dueWords({ state: 'unknown', why: 'no date of make' }, NOW)).toBe(
      'Nobody knows when it is due: no date of make',
    )
  })
  it('is said with how late it is and how long the piece still counts', () => {
    useZone('America/Denver')
    const due = (text: string, counts_from: string | null): CheckDue => ({
      state: 'at',
      at: text,
      why: 'weekly',
      counts_from,
    })
    expect(dueSaid(due('2026-11-23T15:00:00Z', '2026-11-25T15:00:00Z'), NOW)).toBe(
      'due Mon 23 Nov 08:00, 5 days late; the piece is not counted since Wed 25 Nov 08:00',
    )
    expect(dueSaid(due('2026-11-27T15:00:00Z', '2026-11-29T15:00:00Z'), NOW)).toBe(
      'due Fri 27 Nov 08:00, 29 h late; still counts until Sun 29 Nov 08:00',
    )
    expect(dueSaid(due('2026-11-27T15:00:00Z', null), NOW)).toBe(
      'due Fri 27 Nov 08:00, 29 h late; by the policy it counts all the same',
    )
    expect(dueSaid(due('2026-11-28T15:00:00Z', '2026-11-28T15:00:00Z'), NOW)).toBe(
      'due today at 08:00, 5 h late; the piece is not counted since then',
    )
    expect(dueSaid(due('2026-11-30T15:00:00Z', '2026-12-02T15:00:00Z'), NOW)).toBe(
      'due Mon 30 Nov 08:00; counts until Wed 2 Dec 08:00',
    )
    expect(dueSaid(due('2026-11-30T15:00:00Z', null), NOW)).toBe('due Mon 30 Nov 08:00')
    expect(dueSaid({ state: 'not_yet', why: 'due at once after the next use' }, NOW)).toBe(
      'due at once after the next use',
    )
    expect(dueSaid({ state: 'not_yet', why: '12 of 50 uses since the last pass' }, NOW)).toBe(
      'not due yet: 12 of 50 uses since the last pass',
    )
  })
  it('is one line for a rig, and none where nothing asks for anybody', () => {
    useZone('America/Denver')
    const late = at('2026-11-23T14:00:00Z')
    const later = at('2026-11-25T14:00:00Z')
    const today = at('2026-11-29T01:00:00Z')
    const next = at('2026-11-30T14:00:00Z')
    expect(dueLine([next, { state: 'not_yet', why: 'a use' }], NOW)).toBe('')
    expect(dueLine([today, later, today, late, today], NOW)).toBe(
      '3 checks due today, 2 overdue since Mon 23 Nov 07:00',
    )
    expect(dueLine([late], NOW)).toBe('1 check overdue since Mon 23 Nov 07:00')
    expect(dueLine([{ state: 'unknown', why: 'x' }], NOW)).toBe('1 check with no known date')
  })
})

describe('what a step plainly says', () => {
  const number = (value: number, unit: string): StepSaid => ({ kind: 'number', value: { value, unit } })
  const limited = (limits: Extract<StepAsk, { kind: 'number' }>['limits']): StepAsk => ({
    kind: 'number',
    measure: 'pressure_reached',
    limits,
  })
  it('holds a fixed limit in its own unit and in another one', () => {
    const ask = limited([
      { kind: 'fixed', min: { value: 100, unit: 'bar' }, max: { value: 200, unit: 'bar' } },
    ])
    const of = (value: number, unit: string) => soundness(ask, number(value, unit))
    expect([of(100, 'bar'), of(200, 'bar'), of(99.9, 'bar'), of(200.1, 'bar')]).toEqual([
      true,
      true,
      false,
      false,
    ])
    expect([of(1500, 'psi'), of(1400, 'psi'), of(10, 'MPa')]).toEqual([true, false, true])
  })
  it('does not say what only the service can read', () => {
    const share = { kind: 'share_of_rating', bound: 'at_least', percent: 90, of: 'nominal_pressure' } as const
    expect(soundness(limited([share]), number(1, 'psi'))).toBeNull()
    expect(
      soundness(limited([share, { kind: 'fixed', min: { value: 5, unit: 'psi' } }]), number(1, 'psi')),
    ).toBe(false)
    expect(
      soundness(limited([{ kind: 'fixed', min: { value: 10, unit: 's' } }]), number(1, 'min')),
    ).toBeNull()
    expect(soundness({ kind: 'note' }, { kind: 'note', text: 'x' })).toBeNull()
  })
  it('takes a piece away that waits with a failed step, unless it is said to be usable', () => {
    const steps = [
      { id: 'a', title: 'Blades', ask: { kind: 'yes_no', sound: true } },
      { id: 'b', title: 'Leak', ask: { kind: 'yes_no', sound: false } },
    ] as PlanStep[]
    const answers = (a: boolean, b: boolean) => [
      { step: 'a', said: { kind: 'yes_no', yes: a } },
      { step: 'b', said: { kind: 'yes_no', yes: b } },
    ]
    expect(failedStep(steps, { answers: answers(true, false) })).toBe('')
    expect(
      failedStep(steps, { answers: answers(false, true), findings: [{ step: 'a', usable: true }] }),
    ).toBe('Leak')
    expect(
      failedStep(steps, { answers: answers(false, false), findings: [{ step: 'a', usable: true }] }),
    ).toBe('')
    expect(failedStep([], { answers: answers(false, true) })).toBe('')
  })
})

describe('a number', () => {
  const step = { id: 'x', ask: { kind: 'number', measure: 'opening_time' } } as PlanStep
  const reading = (on: string, value: number, measure = 'opening_time') =>
    ({ on, sort: { measure }, value: { value, unit: 's' } }) as never
  it('is shown beside the last ones of its sort, newest first', () => {
    const all = [
      reading('2026-10-05', 4),
      reading('2026-10-12', 4.1),
      reading('2026-10-13', 9, 'closing_time'),
    ]
    const own = readingsFor(step, all)
    expect(lastWords(own, 'us')).toBe('Last: 4.1 s on 12 Oct 2026, before that 4 s on 5 Oct 2026.')
    expect(lastWords([], 'us')).toBe('No earlier reading on record.')
    const other = { id: 'x', ask: { kind: 'number', measure: 'other' } } as PlanStep
    const sorted = (id: string) => ({
      on: '2026-10-12',
      sort: { measure: 'other', step: id },
      value: { value: 1, unit: 's' },
    })
    expect(readingsFor(other, [sorted('x'), sorted('y')] as never)).toHaveLength(1)
  })
  it('is typed in the units of the plan, those of the agency first', () => {
    const ask: StepAsk = { kind: 'number', measure: 'pressure_reached', units: ['psi', 'bar'] }
    expect(unitsOf(ask, 'si')).toEqual(['bar', 'psi'])
    expect(unitsOf({ kind: 'number', measure: 'push_force' }, 'us')).toEqual(['lbf', 'kN'])
    expect(
      limitsWords(
        { ...ask, limits: [{ kind: 'fixed', min: { value: 10, unit: 'bar' } }, { kind: 'makers_bound' }] },
        'si',
      ),
    ).toBe('at least 10 bar; the service judges it by what is on record of this piece')
  })
})
