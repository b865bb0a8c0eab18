import { describe, expect, it } from 'vitest'
import type { Rig } from '@/api/types'
import { myRig, offered } from './mine'

const rig = (id: string, station: string) => ({ id, name: id, station }) as Rig
const rigs = [rig('Engine 10', 's2'), rig('Engine 2', 's2'), rig('Ladder 1', 's1')]

describe('the rig of this phone', () => {
  it('is the one that was chosen, as long as it exists', () => {
    expect(myRig(rigs, 'Engine 2', 's1')?.id).toBe('Engine 2')
    expect(myRig(rigs, 'Engine 99', null)).toBeUndefined()
  })
  it('needs no choice where the station has one rig', () => {
    expect(myRig(rigs, null, 's1')?.id).toBe('Ladder 1')
    expect(myRig(rigs, null, 's2')).toBeUndefined()
  })
  it('is offered from the own station first, counted as people count', () => {
    expect(offered(rigs, 's2').map((r) => r.id)).toEqual(['Engine 2', 'Engine 10', 'Ladder 1'])
  })
})
