import { describe, expect, it } from 'vitest'
import type { Effects, Remedy, RemedyCandidate } from '@/api/types'
import { effectRows, raises } from './effects'
import { becomesMark, coming, expectedWords } from './remedy'

const rig = (fields: Partial<Effects['rigs'][number]>): Effects['rigs'][number] => ({
  rig: 'r',
  name: 'Engine 4',
  before: 'none',
  after: 'none',
  confirmed_before: false,
  confirmed_after: false,
  ...fields,
})
const effects = (fields: Partial<Effects>): Effects => ({
  rigs: [],
  pieces: [],
  words: [],
  problem: null,
  ...fields,
})

describe('an effect', () => {
  it('is said before it is done', () => {
    const rows = effectRows(
      effects({
        rigs: [
          rig({ after: 'full', confirmed_after: true }),
          rig({ rig: 's', before: 'full', after: 'full', confirmed_before: true }),
        ],
        pieces: [{ piece: 'p', tag: 'CU-1', before: 'no', after: 'yes' }],
      }),
    )
    expect(rows.map((row) => row.text)).toEqual([
      'Engine 4 goes from none to full, confirmed',
      'Engine 4 stays full, not confirmed',
      'CU-1: do not use before, usable, records say after',
    ])
  })
  it('asks for a reason exactly where it raises something', () => {
    expect(raises(null)).toBe(false)
    expect(raises(effects({ rigs: [rig({ before: 'full', after: 'limited' })] }))).toBe(false)
    expect(raises(effects({ rigs: [rig({ before: 'limited', after: 'full' })] }))).toBe(true)
    expect(raises(effects({ rigs: [rig({ confirmed_after: true })] }))).toBe(true)
    expect(raises(effects({ pieces: [{ piece: 'p', tag: 'x', before: 'yes', after: 'no' }] }))).toBe(false)
    expect(
      raises(effects({ pieces: [{ piece: 'p', tag: 'x', before: 'cannot_be_confirmed', after: 'yes' }] })),
    ).toBe(true)
  })
})

describe('a remedy', () => {
  const one = (fields: Partial<RemedyCandidate>) =>
    ({
      piece: 'p',
      serves: true,
      ready: true,
      restores: 'full',
      expected_on: null,
      place: { at: 'shelf', station: 's' },
      ...fields,
    }) as RemedyCandidate
  it('is not called restoring where the level stays, nor a filling where it does not serve', () => {
    expect(becomesMark(one({}), 'Engine 4', 'limited').word).toBe('Engine 4 becomes full')
    expect(becomesMark(one({ restores: 'none' }), 'Engine 4', 'none').word).toMatch(/^Engine 4 stays none/)
    expect(becomesMark(one({ serves: false }), 'Engine 4', 'none').word).toBe('Does not serve there')
  })
  it('that is on its way to this rig is found, and one that goes elsewhere is not', () => {
    const way = (to: string) =>
      ({ candidates: [one({ place: { at: 'transit', to: { at: 'rig', rig: to } } })] }) as Remedy
    expect(coming(way('r'), 'r')?.piece).toBe('p')
    expect(coming(way('x'), 'r')).toBeUndefined()
    expect(coming(undefined, 'r')).toBeUndefined()
  })
  it('says when it is expected, or that nobody knows', () => {
    expect(expectedWords(one({ ready: false, expected_on: '2026-12-04' }))).toBe('expected 4 Dec 2026')
    expect(expectedWords(one({ ready: false }))).toBe('no date given')
    expect(expectedWords(one({}))).toBe('')
  })
})
