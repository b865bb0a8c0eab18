import { describe, expect, it } from 'vitest'
import type { Capability } from '@/api/types'
import { hangsOn } from './hangs'

const capability = {
  fillings: [
    { slot: 'pump', piece: 'P', via: null },
    { slot: 'cutter', piece: 'C', via: { source: 'P', hose: 'H' } },
    { slot: 'spreader', piece: 'S', via: { source: 'P', hose: 'H' } },
    { slot: 'combi', piece: 'X', via: { battery: 'B' } },
    { slot: 'mini', piece: 'M', via: { battery: null } },
    { slot: 'ram', piece: null, via: null },
  ],
} as unknown as Capability

describe('what a piece hangs on', () => {
  it('is read out of the server’s answer, from both ends', () => {
    expect(hangsOn({ id: 'C' }, capability).from).toEqual({ source: 'P', hose: 'H' })
    expect(hangsOn({ id: 'P' }, capability).feeds).toEqual(['C', 'S'])
    expect(hangsOn({ id: 'H' }, capability).feeds).toEqual(['C', 'S'])
    expect(hangsOn({ id: 'X' }, capability).from).toEqual({ source: 'B', hose: null })
    expect(hangsOn({ id: 'B' }, capability).feeds).toEqual(['X'])
    expect(hangsOn({ id: 'M' }, capability).from).toEqual({ source: '', hose: null })
  })
  it('is nothing where nothing is known', () => {
    expect(hangsOn({ id: 'C' }, undefined)).toEqual({ from: null, feeds: [] })
    expect(hangsOn({ id: 'Z' }, capability)).toEqual({ from: null, feeds: [] })
  })
})
