import { describe, expect, it } from 'vitest'
import type { Rig, RigClass } from '@/api/types'
import { startOf, type StartFacts } from './start'

const rig = (id: string, fields: Partial<Rig> = {}) =>
  ({ id, name: id, rig_class: null, duty: 'front_line', ...fields }) as Rig
const engines = (expects: RigClass['expects']) => ({ id: 'c', name: 'Engine', expects }) as RigClass
const nothing: StartFacts = {
  rigs: [],
  pieces: 0,
  graded: false,
  classes: [],
  members: 1,
  devices: 0,
  plans: 0,
  checkedBy: [],
}
const open = (facts: Partial<StartFacts>) =>
  startOf({ ...nothing, ...facts })
    .filter((step) => step.left)
    .map((step) => `${step.key} ${step.left}/${step.of}`)

describe('how a new agency gets to a true board', () => {
  it('begins with everything open', () => {
    expect(open({})).toEqual([
      'register 1/1',
      'grades 1/1',
      'classes 1/1',
      'rigs 1/1',
      'members 1/1',
      'devices 1/1',
      'plans 1/1',
      'check 1/1',
    ])
  })
  it('counts what is left of each', () => {
    const rigs = [rig('a', { rig_class: 'c' }), rig('b'), rig('d', { duty: 'ready_reserve' })]
    const classes = [engines('full'), { ...engines(null), id: 'd' }]
    expect(open({ rigs, pieces: 9, graded: true, classes, members: 2, devices: 1, plans: 3 })).toEqual([
      'classes 1/2',
      'rigs 1/2',
      'check 1/1',
    ])
  })
  it('needs a rig and a piece for a register, and asks for no class of a reserve', () => {
    expect(open({ pieces: 3 })).toContain('register 1/1')
    expect(open({ rigs: [rig('a')] })).toContain('register 1/1')
    const rigs = [rig('a', { rig_class: 'c' }), rig('b', { duty: 'stripped_reserve' })]
    expect(open({ rigs, pieces: 1 })).not.toContain('rigs 1/2')
  })
  it('is over by itself', () => {
    const rigs = [rig('a', { rig_class: 'c' })]
    const whole = {
      rigs,
      pieces: 1,
      graded: true,
      classes: [engines('limited')],
      members: 2,
      devices: 1,
      plans: 1,
      checkedBy: ['ada'],
    }
    expect(open(whole)).toEqual([])
    // Where two have checked, nobody has to add a phone.
    expect(open({ ...whole, devices: 0 })).toEqual(['devices 1/1'])
    expect(open({ ...whole, devices: 0, checkedBy: ['ada', 'ada', 'bo'] })).toEqual([])
  })
})
