import { describe, expect, it } from 'vitest'
import type { CheckPlan, CheckPlanBody, Model, StarterPlan } from '@/api/types'
import { slotId, slotWords } from './complement'
import {
  askOf,
  byKind,
  cleaned,
  covers,
  EMPTY,
  isUnchosen,
  limitOf,
  moved,
  newStep,
  same,
  stepId,
  toggled,
} from './draft'
import { unknownDump, wanted, withBound } from './limits'
import { groupStarters, setTogether, takenNames } from './starters'

it('begins a number with no measure chosen, and a limit with no bound', () => {
  expect(isUnchosen(askOf('number'))).toBe(true)
  expect(isUnchosen({ kind: 'number', measure: 'opening_time' })).toBe(false)
  expect(isUnchosen(askOf('yes_no'))).toBe(false)
  expect(limitOf('fixed')).toEqual({ kind: 'fixed', min: null, max: null })
})

const plan = (fields: Partial<CheckPlanBody> = {}): CheckPlanBody => ({ ...EMPTY, name: 'P', ...fields })
const inForce = (body: CheckPlanBody, state: CheckPlan['state'] = 'in_force'): CheckPlan => ({
  id: body.name,
  plan: body,
  state,
  since: '2026-01-01T00:00:00Z',
  asks_since: '2026-01-01T00:00:00Z',
  changed_at: '2026-01-01T00:00:00Z',
  changed_by: { id: null, name: 'An officer' },
  earlier: [],
  rev: 1,
})
const model = (id: string, fields: Partial<Model> = {}): Model => ({
  id,
  name: id,
  kind: 'ram',
  gear: null,
  family: null,
  hookup: {},
  ratings: {},
  rated_at: [],
  makers_bounds: [],
  service_lives: [],
  price: null,
  dump_valve: null,
  warnings: [],
  rev: 1,
  ...fields,
})

describe('a plan while it is written', () => {
  it('gives a step an id that no other has', () => {
    const steps = [newStep([]), { ...newStep([]), id: 'step-3' }]
    expect(steps[0]?.id).toBe('step-1')
    expect(stepId(steps)).toBe('step-4')
  })
  it('moves a step, and leaves the list alone at its ends', () => {
    expect(moved(['a', 'b', 'c'], 0, 2)).toEqual(['b', 'c', 'a'])
    expect(moved(['a', 'b'], 0, -1)).toEqual(['a', 'b'])
    expect(moved(['a', 'b'], 1, 2)).toEqual(['a', 'b'])
    expect(toggled(['a'], 'a', false)).toEqual([])
    expect(toggled(undefined, 'b', true)).toEqual(['b'])
  })
  it('is the same where only what says nothing differs', () => {
    const step = { ...newStep([]), title: 'Look' }
    const one = plan({ steps: [step] })
    expect(same(one, plan({ steps: [{ ...step, caution: '  ', optional: false, applies: {} }] }))).toBe(true)
    expect(same(one, plan({ steps: [{ ...step, ask: { kind: 'yes_no', sound: false } }] }))).toBe(false)
    expect(same(one, plan({ steps: [step], grace_days: 0 }))).toBe(false)
    expect(cleaned(plan({ name: ' A ' })).name).toBe('A')
  })
  it('covers what it names, and nothing where it names nothing', () => {
    expect(covers(plan({ covers: { kinds: ['ram'] } }), model('m'))).toBe(true)
    expect(covers(plan({ covers: { kinds: ['ram'], models: ['x'] } }), model('m'))).toBe(false)
    expect(covers(plan({ covers: { models: ['m'] } }), model('m'))).toBe(true)
    expect(covers(plan({ covers: {} }), model('m'))).toBe(false)
  })
  it('stands under each kind that it names, or under those of its models', () => {
    const all = [
      inForce(plan({ name: 'Both', covers: { kinds: ['ram', 'cutter'] } })),
      inForce(plan({ name: 'One', covers: { models: ['m'] } })),
    ]
    const kinds = byKind(all, ['cutter', 'ram', 'hose'], () => 'ram')
    expect(kinds.get('cutter')?.map((one) => one.id)).toEqual(['Both'])
    expect(kinds.get('ram')?.map((one) => one.id)).toEqual(['Both', 'One'])
    expect(kinds.get('hose')).toEqual([])
  })
})

describe('starter plans', () => {
  const starter = (key: string, fields: Partial<CheckPlanBody>): StarterPlan => ({
    key,
    plan: plan({ name: key, ...fields }),
  })
  it('stand by kind, and those after an event last', () => {
    const event = starter('e', {
      covers: { kinds: ['power_unit'] },
      rhythm: { every: 'event', events: ['drop'] },
    })
    const ram = starter('r', { covers: { kinds: ['ram'] } })
    const unit = starter('u', { covers: { kinds: ['power_unit'] } })
    expect(groupStarters([event, ram, unit]).map((one) => [one.name, one.items.map((i) => i.key)])).toEqual([
      ['Power unit', ['u']],
      ['Ram', ['r']],
      ['After something happened', ['e']],
    ])
  })
  it('are set together: the day of the weekly ones, the hour of all by the calendar, nothing else', () => {
    const plans = {
      week: plan(),
      month: plan({ rhythm: { every: 'calendar', rule: 'FREQ=MONTHLY', start: '2024-01-01T08:00:00' } }),
      use: plan({ rhythm: { every: 'use' } }),
    }
    const set = setTogether(plans, { day: 'WE', at: '06:30' })
    expect(set['week']?.rhythm).toEqual({
      every: 'calendar',
      rule: 'FREQ=WEEKLY;BYDAY=WE',
      start: '2024-01-03T06:30:00',
    })
    expect(set['month']?.rhythm).toMatchObject({
      rule: 'FREQ=MONTHLY;BYMONTHDAY=1',
      start: '2024-01-01T06:30:00',
    })
    expect(set['use']).toBe(plans.use)
  })
  it('are taken only while a plan of the name is in force', () => {
    const all = [inForce(plan({ name: 'A' })), inForce(plan({ name: 'B' }), 'withdrawn')]
    expect([...takenNames(all)]).toEqual(['A'])
  })
})

describe('figures of manuals', () => {
  const step = {
    ...newStep([]),
    ask: {
      kind: 'number' as const,
      measure: 'push_force' as const,
      limits: [{ kind: 'makers_bound' as const }],
    },
  }
  const load = plan({ name: 'Load test', covers: { kinds: ['ram'] }, steps: [step] })
  const bound = { sort: { measure: 'push_force' as const }, min: { value: 100, unit: 'kN' } }
  it('are wanted by plans in force of the models that they cover, what is missing first', () => {
    const models = [model('A', { makers_bounds: [bound] }), model('B'), model('C', { kind: 'hose' })]
    const found = wanted([inForce(load), inForce({ ...load, name: 'Second' })], models)
    expect(found.map((one) => [one.model.id, one.bound !== null, one.plans])).toEqual([
      ['B', false, ['Load test', 'Second']],
      ['A', true, ['Load test', 'Second']],
    ])
    expect(wanted([inForce(load, 'withdrawn')], models)).toEqual([])
  })
  it('change one and leave the others', () => {
    const other = { sort: { measure: 'other' as const, step: 'x' }, max: { value: 2, unit: 's' } }
    const with2 = model('A', { makers_bounds: [bound, other] })
    expect(withBound(with2, { measure: 'push_force', step: null }, null)).toEqual([other])
    expect(withBound(with2, { measure: 'other', step: 'y' }, null)).toEqual([bound, other])
  })
  it('a pump with no word about its dump valve is unknown, one without is not', () => {
    const pumps = [
      model('P', { kind: 'hand_pump' }),
      model('Q', { kind: 'power_unit', dump_valve: false }),
      model('R'),
    ]
    expect(unknownDump(pumps).map((one) => one.id)).toEqual(['P'])
  })
})

it('the list of a class names each place once', () => {
  const slots = [{ id: 'cutter', name: 'Cutter', kinds: ['cutter' as const], required: true }]
  expect(slotId('Cutter', slots)).toBe('cutter-2')
  expect(slotId('  Ram, long! ', slots)).toBe('ram-long')
  expect(slotId('…', [])).toBe('place')
  expect(slotWords(slots)).toBe('1 required')
  expect(slotWords([])).toBe('no list set')
})
