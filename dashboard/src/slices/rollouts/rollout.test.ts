import { describe, expect, it } from 'vitest'
import { mondayOf } from '@/words/newset'
import type { RigProgress, ShiftAnswer, StageAnswer } from '@/api/types'
import {
  heldBy,
  rigMark,
  shiftHolds,
  shiftMark,
  shiftWords,
  shownStages,
  weekChoices,
  weekWords,
} from './rollout'

const stage = (name: StageAnswer['stage'], held_by: string[] = []): StageAnswer => ({
  stage: name,
  done: held_by.length === 0,
  held_by,
})
const rig = (stages: StageAnswer[], more: Partial<RigProgress> = {}) => ({
  stages,
  ready: false,
  changed_over: null,
  ...more,
})
const word = { at: '2026-11-25T14:00:00Z', by: { id: null, name: 'Ann' }, words: null }
const shift = (more: Partial<ShiftAnswer>): ShiftAnswer => ({
  shift: 'A shift',
  exists: true,
  minimum: 4,
  roster: 6,
  signed: 2,
  waiting: [],
  missing: [],
  twice: [],
  ...more,
})

describe('weeks', () => {
  it('begin on a Monday, over the end of a year too', () => {
    expect(['2026-11-23', '2026-11-29', '2027-01-01'].map(mondayOf)).toEqual([
      '2026-11-23',
      '2026-11-23',
      '2026-12-28',
    ])
  })
  it('are offered from this one on, with the one that is planned', () => {
    expect(weekChoices('2026-11-25', null, 3)).toEqual(['2026-11-23', '2026-11-30', '2026-12-07'])
    expect(weekChoices('2026-11-25', '2027-03-01', 2)).toEqual(['2026-11-23', '2026-11-30', '2027-03-01'])
    expect(weekChoices('2026-11-25', '2026-11-16', 1)).toEqual(['2026-11-16', '2026-11-23'])
  })
  it('are told as this one or by their day', () => {
    expect(weekWords('2026-11-23', '2026-11-29')).toBe('This week, from 23 Nov 2026')
    expect(weekWords('2026-11-30', '2026-11-29')).toBe('Week of 30 Nov 2026')
    expect(weekWords(null, '2026-11-29')).toBe('No week yet')
  })
})

describe('a rig', () => {
  it('is held up by what comes before its changeover alone', () => {
    const held = rig([stage('received', ['a', 'b']), stage('trained', ['c']), stage('in_service', ['d'])])
    expect(heldBy(held)).toBe(3)
    expect(rigMark(held).word).toBe('3 things hold it up')
    expect(shownStages(held).map((one) => one.stage)).toEqual(['received', 'trained'])
    expect(rigMark(rig([stage('received')], { ready: true })).word).toBe('Nothing holds it up today')
  })
  it('that has changed over is finished once the new set is tried and the old one is away', () => {
    const open = rig([stage('received', ['x']), stage('withdrawn', ['y'])], { changed_over: word })
    expect(rigMark(open).word).toBe('Changed over, not finished')
    expect(shownStages(open).map((one) => one.stage)).toEqual(['withdrawn'])
    expect(rigMark(rig([stage('withdrawn')], { changed_over: word })).word).toBe('Changed over')
  })
})

describe('a shift', () => {
  it('of which nobody knows holds, as one below its minimum and one without', () => {
    const unknown = shift({ roster: null, signed: null })
    expect(shiftWords(unknown)).toContain('enter its roster')
    expect([unknown, shift({}), shift({ minimum: null }), shift({ signed: 4 })].map(shiftHolds)).toEqual([
      true,
      true,
      true,
      false,
    ])
    expect(shiftWords(shift({}))).toBe('2 of 6 signed off on the new set; at least 4 needed')
    expect(shiftWords(shift({ minimum: null }))).toContain('no minimum is set')
  })
  it('that the station does not have holds nothing', () => {
    const none = shift({ exists: false, roster: null, signed: null })
    expect(shiftHolds(none)).toBe(false)
    expect(shiftMark(none).shape).toBe('ended')
    expect(shiftWords(none)).toContain('no such shift')
  })
})
