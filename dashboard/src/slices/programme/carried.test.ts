import { describe, expect, it } from 'vitest'
import type { Kind } from '@/api/types'
import { carried } from './carried'

const rig = (id: string) => ({ id, name: id })
const aboard: Record<string, Kind[]> = {
  'Engine 1': ['hose', 'cutter', 'hose', 'power_unit'],
  'Engine 2': ['cutter', 'power_unit', 'hose', 'hose'],
  'Truck 3': ['cutter', 'ram'],
  'Truck 4': [],
}
const loads = carried(Object.keys(aboard).map(rig), (id) => aboard[id] ?? [])

describe('what the rigs of a register carry', () => {
  it('puts the same loads together, the commonest first, and leaves out what carries nothing', () => {
    expect(loads.map((one) => one.rigs)).toEqual([['Engine 1', 'Engine 2'], ['Truck 3']])
  })
  it('says a load in the order of its kinds', () => {
    expect(loads[0]?.words).toBe('1 power unit, 1 cutter, 2 hoses')
  })
  it('makes a place for each piece, named apart', () => {
    expect(loads[0]?.slots).toEqual([
      { id: 'power-unit', name: 'Power unit', kinds: ['power_unit'], required: true },
      { id: 'cutter', name: 'Cutter', kinds: ['cutter'], required: true },
      { id: 'hose-1', name: 'Hose 1', kinds: ['hose'], required: true },
      { id: 'hose-2', name: 'Hose 2', kinds: ['hose'], required: true },
    ])
  })
})
