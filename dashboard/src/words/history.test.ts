import { describe, expect, it } from 'vitest'
import type { HistoryItem } from '@/api/types'
import { actsOf, doneWords, levelSteps, sittings, standsFor, stepWords, tagsWords, whoWords } from './history'

const item = (revision: number, kind: string, level?: string, body: object = {}) =>
  ({
    ...{ revision, kind, body, words: 'Defect reported: “Leak”', record: level ? { level } : {} },
    ...{ at: '2026-11-29T14:00:00Z', received_at: '2026-11-29T14:00:00Z', by: { name: 'Ann', role: 'crew' } },
  }) as unknown as HistoryItem
const all = (items: HistoryItem[], more = false) => ({ items, more })

describe('what acts made of a level', () => {
  it('is told of those that changed it, against the state before', () => {
    const steps = levelSteps([
      item(9, 'piece.return', 'full'),
      item(7, 'swap.start', 'limited'),
      item(5, 'defect.report', 'limited'),
    ])
    expect([...steps]).toEqual([[9, { from: 'limited', to: 'full' }]])
  })
  it('is not told of the oldest that was read: nobody knows what was before', () => {
    expect(levelSteps([item(5, 'defect.report', 'limited')]).size).toBe(0)
  })
  it('says which way it went', () => {
    expect(stepWords('Engine 4', { from: 'full', to: 'limited' })).toBe(
      'Engine 4 dropped from full to limited',
    )
    expect(stepWords('Engine 4', { from: 'none', to: 'heavy' })).toBe('Engine 4 came up from none to heavy')
    expect(stepWords('Engine 4', { from: 'not_judged', to: 'full' })).toBe(
      'Engine 4 was judged for the first time: full',
    )
  })
})

describe('the acts of a rig', () => {
  it('are each told once, though they stand in both journals', () => {
    const own = all([item(8, 'rig.take_out'), item(1, 'rig.add')])
    const standings = all([item(8, 'rig.take_out', 'none'), item(5, 'defect.report', 'full')])
    expect(actsOf(own, standings).map((one) => one.revision)).toEqual([8, 5, 1])
  })
  it('leave out what only was worked out again, unless the level changed by it', () => {
    const standings = all([
      item(9, 'clock.settle', 'limited'),
      item(8, 'clock.settle', 'full'),
      item(7, 'agency.edit', 'full'),
    ])
    expect(actsOf(all([]), standings).map((one) => one.revision)).toEqual([9])
  })
  it('are told although they left the answer of the rig as it was', () => {
    const aboard = all([
      item(9, 'use.record'),
      item(8, 'check.record'),
      item(7, 'clock.settle'),
      item(6, 'agency.edit'),
    ])
    const standings = all([item(8, 'check.record', 'full'), item(2, 'piece.move', 'full')])
    expect(actsOf(all([item(1, 'rig.add')]), standings, aboard).map((one) => one.revision)).toEqual([
      9, 8, 2, 1,
    ])
    const cut = { ...aboard, more: true }
    expect(actsOf(all([item(1, 'rig.add')]), standings, cut).map((one) => one.revision)).toEqual([9, 8])
  })
  it('are one line for the checks that one person makes one after another', () => {
    const check = (revision: number, at: string, name: string) =>
      ({ ...item(revision, 'check.record'), at: `2026-11-29T${at}:00Z`, by: { name } }) as HistoryItem
    const groups = sittings([
      item(9, 'use.record'),
      check(8, '14:20', 'Ann'),
      check(7, '14:10', 'Ann'),
      check(6, '13:50', 'Ann'),
      check(5, '13:10', 'Ann'),
      check(4, '13:09', 'Bo'),
    ])
    expect(groups.map((group) => group.map((one) => one.revision))).toEqual([[9], [8, 7, 6], [5], [4]])
    expect(tagsWords(['C-12', 'PU-1', 'S-3', 'R-2'])).toBe('C-12, PU-1, S-3, R-2')
    expect(tagsWords(['C-12', 'PU-1', 'S-3', 'R-2', 'H-1'])).toBe('C-12, PU-1, S-3 and 2 more')
  })
  it('end where one of the journals was not read on', () => {
    const own = all([item(9, 'rig.edit'), item(4, 'rig.edit')], true)
    const standings = all([item(8, 'defect.report', 'full'), item(2, 'piece.move', 'full')])
    expect(actsOf(own, standings).map((one) => one.revision)).toEqual([9, 8, 4])
    expect(actsOf(all([]), all([item(8, 'defect.report', 'full')], true)).map((one) => one.revision)).toEqual(
      [8],
    )
  })
})

describe('what was done', () => {
  it('names the rig and the piece that a stand-in is for', () => {
    expect(standsFor(item(1, 'swap.start', undefined, { rig: 'r', stands_in_for: 'p' }))).toEqual({
      rig: 'r',
      piece: 'p',
    })
    expect(standsFor(item(1, 'swap.start', undefined, { rig: 'r', stands_in_for: null }))).toEqual({
      rig: 'r',
    })
    expect(standsFor(item(1, 'piece.move', undefined, { rig: 'r' }))).toEqual({})
  })
  it('is nobody’s doing where a date ran out', () => {
    const now = new Date('2026-11-29T15:00:00Z')
    expect(doneWords(item(1, 'clock.settle'), now)).toBe('A check or a service life ran out')
    expect([whoWords('the clock'), whoWords('Ann')]).toEqual(['itself', 'Ann'])
    expect(doneWords(item(1, 'defect.report'), now)).toBe('Defect reported: “Leak”')
  })
})
