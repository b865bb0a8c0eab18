import { describe, expect, it } from 'vitest'
import type { Model, Piece, RolloutRig } from '@/api/types'
import { assignable, belongsWith, choiceWords, lacks, plannable } from './plan'

const piece = (id: string, more: Partial<Piece> = {}) =>
  ({
    id,
    tag: id,
    model: 'm',
    state: 'in_service',
    place: { at: 'shelf', station: 's' },
    home: null,
    kept_for: null,
    ...more,
  }) as Piece
const where = () => 'Reserve shelf, Station 2'
const rig = (id: string) => (id === 'l3' ? 'Ladder 3' : undefined)

describe('a piece of the new set', () => {
  it('is offered only where the service takes it', () => {
    const onRig = { at: 'rig', rig: 'l3' } as const
    const all = [
      piece('A'),
      piece('B', { place: onRig }),
      piece('C', { place: { at: 'transit', to: onRig } }),
      piece('D', { place: { at: 'transit', to: { at: 'shelf', station: 's' } } }),
      piece('E', { kept_for: 'another' }),
      piece('F', { kept_for: 'plan' }),
      piece('G', { state: 'retired', place: { at: 'retired' } }),
      piece('H', { model: 'else' }),
      piece('I', { state: 'out_of_service' }),
    ]
    expect(assignable(all, ['m'], 'plan').map((one) => one.id)).toEqual(['A', 'D', 'F', 'I'])
    expect(assignable(all, ['m'], 'plan', ['B']).map((one) => one.id)).toContain('B')
  })
  it('is told with its state and the rig that it belongs to, names as they are written', () => {
    expect(choiceWords(piece('A'), where, rig)).toBe('reserve shelf, Station 2')
    const other = piece('I', { state: 'out_of_service', home: { at: 'rig', rig: 'l3' } })
    expect(choiceWords(other, where, rig)).toBe(
      'reserve shelf, Station 2; out of service; belongs to Ladder 3',
    )
  })
})

describe('a rig', () => {
  it('that carries the old set stands first, one of another rollout is not offered', () => {
    const rigs = ['Engine 1', 'Ladder 2', 'Ladder 3', 'Ladder 4', 'Ladder 5'].map((name) => ({
      id: name.slice(-1),
      name,
    }))
    const plan = (of: string, rollout: string, changed = false) =>
      ({
        rig: of,
        rollout,
        changed_over: changed ? { at: '', by: { id: null, name: 'Ann' }, words: null } : null,
      }) as RolloutRig
    const planned = [plan('2', 'mine'), plan('3', 'other'), plan('4', 'other', true), plan('5', 'over')]
    const rollouts = [
      { id: 'other', name: 'New cutters', closed_at: null },
      { id: 'over', name: 'Old', closed_at: '2026-01-01T00:00:00Z' },
    ]
    const found = plannable(
      rigs,
      [piece('X', { model: 'old', place: { at: 'rig', rig: '4' } })],
      { id: 'mine', replaces: ['old'] },
      planned,
      rollouts,
    )
    expect(found.carry.map((one) => one.name)).toEqual(['Ladder 4'])
    expect(found.others.map((one) => one.name)).toEqual(['Engine 1', 'Ladder 5'])
    expect(found.elsewhere).toEqual(['Ladder 3 is in New cutters'])
  })
})

describe('starting a rollout', () => {
  it('says what would stay aboard by family or batteries', () => {
    const model = (id: string, kind: string, family: string | null, battery: string | null) =>
      ({ id, name: id, kind, family, hookup: { battery } }) as unknown as Model
    const all = [
      model('old cutter', 'cutter', 'Hale 36', '36V'),
      model('old ram', 'ram', 'HALE 36', '36V'),
      model('old pack', 'battery', null, '36v'),
      model('charger', 'charger', null, null),
      model('new cutter', 'cutter', 'Hale 54', '54V'),
      model('new pack', 'battery', null, '54V'),
    ]
    const names = (models: string[], replaces: string[]) =>
      belongsWith(all, models, replaces).map((one) => one.name)
    expect(names(['new cutter'], ['old cutter'])).toEqual(['charger', 'old pack', 'old ram'])
    expect(names(['new cutter'], ['old cutter', 'old ram', 'old pack', 'charger'])).toEqual([])
    expect(names([], [])).toEqual([])
  })
  it('says what is still to be said, and drops no shift in silence', () => {
    const draft = {
      name: 'New',
      models: ['a'],
      replaces: ['b'],
      minimums: [{ shift: 'A shift', members: 3 }],
    }
    expect(lacks(draft)).toEqual([])
    expect(lacks({ ...draft, name: ' ', models: [], replaces: [], minimums: [] })).toHaveLength(4)
    expect(
      lacks({
        ...draft,
        minimums: [
          { shift: 'A shift', members: null },
          { shift: '', members: 2 },
        ],
      }),
    ).toEqual(['how many members of A shift, or remove it', 'what shift 2 is called, or remove it'])
  })
})
