import { describe, expect, it } from 'vitest'
import type { MoveLine, SwapPlanView } from '@/api/types'
import { askFor, changedSince, countWords, moveNamed, partsOf, sureWords } from './plan'

const move = (piece: string, rig: string, donor_rig: string | null = null): MoveLine => ({
  piece,
  piece_rev: 7,
  tag: piece,
  kind: 'ram',
  model: 'm',
  from: { at: 'shelf', station: 's' },
  donor_rig,
  rig,
  rig_name: rig,
  need: 'push',
  need_name: 'Ram',
  minutes: 5,
  distance_km: 3,
  leaves: null,
  ask: null,
  words: '',
})
const restored = (rig: string) => ({ rig, name: rig, moves: 1, weight: 1, words: '' })
const plan = (more: Partial<SwapPlanView>): SwapPlanView => ({
  revision: 1,
  at: '',
  by: 'demand',
  total: 100,
  before: 50,
  after: 60,
  bound: 60,
  proved: true,
  undecided: [],
  minutes: 5,
  moves: [],
  restored: [],
  unrestored: [],
  mendable: 1,
  donors: 1,
  arriving: 0,
  words: '',
  ...more,
})

describe('a swap plan', () => {
  it('keeps all moves to one rig together', () => {
    const parts = partsOf(
      plan({
        restored: [restored('A'), restored('B')],
        moves: [move('1', 'A'), move('2', 'A'), move('3', 'B')],
      }),
    )
    expect(parts.map((p) => p.moves.map((m) => m.piece))).toEqual([['1', '2'], ['3']])
  })
  it('keeps rigs together of which one gives to another', () => {
    const parts = partsOf(
      plan({
        restored: [restored('A'), restored('B'), restored('C')],
        moves: [move('1', 'A', 'B'), move('2', 'B'), move('3', 'C', 'elsewhere')],
      }),
    )
    expect(parts.map((p) => p.rigs.map((r) => r.rig))).toEqual([['A', 'B'], ['C']])
    expect(parts[0]?.moves.map((m) => m.piece)).toEqual(['1', '2'])
  })
  it('counts demand as a share and rigs by number', () => {
    expect(countWords(plan({}), 50)).toBe('50 % of the demand')
    expect(countWords(plan({ by: 'rigs' }), 1)).toBe('1 full rig')
  })
  it('says what was proved and what only bounded', () => {
    expect(sureWords(plan({}))).toContain('Every possible plan was compared')
    expect(sureWords(plan({ proved: false, bound: 65 }))).toContain('65 % of the demand')
    expect(sureWords(plan({ proved: false }))).toContain('not ruled out')
    const undecided = [{ rig: 'r', name: 'Engine 3', words: '' }]
    expect(sureWords(plan({ proved: false, undecided }))).toContain('was tried for Engine 3')
  })
  it('knows which pieces changed since, and which move a refusal names', () => {
    const moves = [move('1', 'A'), move('2', 'A')]
    expect(changedSince(moves, (id) => (id === '1' ? 8 : undefined)).map((m) => m.piece)).toEqual(['1'])
    expect(moveNamed('body.moves[1].slot', moves)?.piece).toBe('2')
    expect(moveNamed('body.on_the_way', moves)).toBeUndefined()
  })
})

describe('who starts it', () => {
  it('names each that is asked once', () => {
    const ask = { roles: ['officer' as const], station: 's', district: 'd', words: 'an officer of Station 2' }
    const part = {
      rigs: [restored('a')],
      moves: [
        { ...move('p', 'a', 'b'), ask },
        { ...move('q', 'a'), ask },
      ],
    }
    expect(askFor(part)).toEqual(['an officer of Station 2'])
    expect(askFor({ ...part, moves: [move('p', 'a')] })).toEqual([])
  })
})
