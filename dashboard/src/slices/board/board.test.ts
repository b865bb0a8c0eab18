import { describe, expect, it } from 'vitest'
import type { Capability, District, Level, Rig, Station } from '@/api/types'
import { buildBoard, filterBoard } from './board'

const districts: District[] = [
  { id: 'n', rev: 1, name: 'North', min_full: 1 },
  { id: 'q', rev: 1, name: 'Quarry', min_full: 2 },
]
const stations: Record<string, Station> = {
  s1: { id: 's1', rev: 1, name: 'Station 1', district: 'n' },
  s2: { id: 's2', rev: 1, name: 'Station 2', district: 'q' },
}
const rig = (id: string, name: string, station: string): Rig => ({
  id,
  rev: 1,
  name,
  station,
  rig_class: 'c',
  in_service: true,
  planned: false,
})
const rigs = [rig('a', 'Engine 10', 's2'), rig('b', 'Engine 2', 's2'), rig('c', 'Engine 1', 's1')]
const level: Record<string, Level> = { a: 'full', b: 'limited', c: 'full' }
const capability = (id: string) =>
  ({
    id,
    rev: 1,
    level: level[id],
    since: '2026-11-25T10:00:00Z',
    critical: [],
    fillings: [],
    restore: [],
    also: [],
    simultaneous: 1,
    simultaneous_min: 1,
    gaps: id === 'b' ? [{ slot: 'ram', need: 'required', words: ['no ram aboard'], near: [] }] : [],
  }) as unknown as Capability
const board = buildBoard(
  districts,
  rigs,
  (id) => stations[id],
  capability,
  (_, slot) => (slot === 'ram' ? 'Ram' : slot),
)

describe('the board', () => {
  it('puts the short district first and the worst rig first in it', () => {
    expect(board.map((d) => [d.name, d.short])).toEqual([
      ['Quarry', true],
      ['North', false],
    ])
    expect(board[0]?.rigs.map((r) => r.rig.name)).toEqual(['Engine 2', 'Engine 10'])
  })
  it('says why, slot by slot', () => {
    expect(board[0]?.rigs[0]?.why).toEqual(['Ram: no ram aboard'])
  })
  it('filters by level and by what is missing, and leaves out what is then empty', () => {
    expect(
      filterBoard(board, { district: '', level: 'limited', text: '' }).map((d) => d.rigs.length),
    ).toEqual([1])
    expect(filterBoard(board, { district: '', level: '', text: 'no ram' })[0]?.rigs[0]?.rig.id).toBe('b')
    expect(filterBoard(board, { district: 'n', level: '', text: '' }).map((d) => d.id)).toEqual(['n'])
  })
  it('keeps a rig whose capability is not known, as unknown', () => {
    const blind = buildBoard(
      districts,
      rigs,
      (id) => stations[id],
      () => undefined,
      (_, slot) => slot,
    )
    expect(blind.find((d) => d.id === 'q')?.rigs[0]?.why).toEqual(['Not computed yet'])
    expect(blind.find((d) => d.id === 'q')?.full).toBe(0)
  })
})
