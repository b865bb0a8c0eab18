import { describe, expect, it } from 'vitest'
import type { RigStanding } from '@/api/types'
import { hangsOn } from './hangs'

const line = { by: 'line' as const, source: 'P', parts: ['H', 'A', 'H2'] }
const standing = {
  needs: [
    { need: 'cut', name: 'Cutter', met: true, pieces: [{ piece: 'C', via: line }] },
    { need: 'spread', name: 'Spreader', met: true, pieces: [{ piece: 'S', via: line }] },
  ],
  fillings: [
    { slot: 'pump', piece: 'P', via: null },
    { slot: 'cutter', piece: 'C', via: line },
    { slot: 'combi', piece: 'X', via: { by: 'pack', pack: 'B' } },
    { slot: 'mini', piece: 'M', via: { by: 'own_pack' } },
    { slot: 'ram', piece: null, via: null },
  ],
} as Pick<RigStanding, 'needs' | 'fillings'>

describe('what a piece hangs on', () => {
  it('is read out of the server’s answer, from both ends and every part of the line', () => {
    expect(hangsOn({ id: 'C' }, standing).from).toEqual(line)
    for (const part of ['P', 'H', 'A', 'H2'])
      expect(hangsOn({ id: part }, standing).feeds).toEqual(['C', 'S'])
    expect(hangsOn({ id: 'X' }, standing).from).toEqual({ by: 'pack', pack: 'B' })
    expect(hangsOn({ id: 'B' }, standing).feeds).toEqual(['X'])
    expect(hangsOn({ id: 'M' }, standing).from).toEqual({ by: 'own_pack' })
  })
  it('is nothing where nothing is known', () => {
    expect(hangsOn({ id: 'C' }, undefined)).toEqual({ from: null, feeds: [] })
    expect(hangsOn({ id: 'Z' }, standing)).toEqual({ from: null, feeds: [] })
  })
})
