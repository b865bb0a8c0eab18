import { expect, it } from 'vitest'
import { faultAt, faultIn, faultsOf } from './faults'

const base = { code: 'field-invalid', title: 'A field is wrong', status: 422 }

it('puts a fault at the field that the server names', () => {
  const faults = faultsOf(
    { ...base, field: 'body.plan.steps[2].ask.limits[0]', detail: 'give a least or a most' },
    'plan',
  )
  expect(faults).toEqual({ 'steps[2].ask.limits[0]': 'Give a least or a most' })
  expect(faultAt(faults, 'steps[2].ask')).toBe('')
  expect(faultIn(faults, 'steps[2].ask')).toBe('Give a least or a most')
  expect(faultIn(faults, 'steps[2]')).toBe('Give a least or a most')
})
it('does not take the tenth step for the first', () => {
  const faults = faultsOf({ ...base, field: 'body.plan.steps[10].title', detail: 'write the title' }, 'plan')
  expect(faultIn(faults, 'steps[1]')).toBe('')
  expect(faultIn(faults, 'steps[10]')).toBe('Write the title')
})
it('keeps what belongs to another part of the form out', () => {
  const problem = {
    ...base,
    errors: [
      { field: 'body.plan.name', detail: 'write the name' },
      { field: 'body.reason', detail: 'too long' },
    ],
  }
  expect(faultsOf(problem, 'plan')).toEqual({ name: 'Write the name' })
  expect(faultsOf(problem)).toEqual({ 'plan.name': 'Write the name', reason: 'Too long' })
  expect(faultsOf(null)).toEqual({})
})
