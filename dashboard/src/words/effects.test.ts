import { describe, expect, it } from 'vitest'
import type { Effects, Gap, Remedy, RemedyCandidate } from '@/api/types'
import { effectRows } from './effects'
import { becomesMark, coming, expectedWords, gapLeft } from './remedy'

const rig = (fields: Partial<Effects['rigs'][number]>): Effects['rigs'][number] => ({
  rig: 'r',
  name: 'Engine 4',
  before: 'none',
  after: 'none',
  confirmed_before: false,
  confirmed_after: false,
  complete_before: 'complete',
  complete_after: 'complete',
  ...fields,
})
const counts: Effects['board_before'] = {
  headline: { expected: 0, able: 0, confirmed: 0 },
  totals: { not_judged: 0, none: 0, limited: 0, full: 0, heavy: 0, not_known: 0 },
  apart: { ready_reserve: 0, stripped_reserve: 0, out: 0 },
  complete: 0,
  incomplete: 0,
  short_districts: 0,
}
const effects = (fields: Partial<Effects>): Effects => ({
  rigs: [],
  pieces: [],
  words: [],
  board_before: counts,
  board_after: counts,
  raises: false,
  left_off: 0,
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
})

describe('a remedy', () => {
  const one = (fields: Partial<RemedyCandidate>) =>
    ({
      piece: 'p',
      ready: true,
      restores: 'full',
      expected_on: null,
      place: { at: 'shelf', station: 's' },
      ...fields,
    }) as RemedyCandidate
  it('is not called restoring where the level stays', () => {
    expect(becomesMark(one({}), 'Engine 4', 'limited').word).toBe('Engine 4 becomes full')
    expect(becomesMark(one({ restores: 'none' }), 'Engine 4', 'none').word).toMatch(/^Engine 4 stays none/)
  })
  it('that is not ready restores nothing yet', () => {
    const mark = becomesMark(one({ ready: false }), 'Engine 4', 'limited')
    expect(mark).toMatchObject({ shape: 'half', word: 'Not ready. Once it is, Engine 4 becomes full' })
  })
  it('is looked for in the place of the piece that is out', () => {
    const gap = (more: Partial<Gap>) => ({ kinds: ['spreader'], near: [{ piece: 'pu' }], ...more }) as Gap
    const need = gap({ in: 'need', id: 'spread' })
    const slot = gap({ in: 'slot', id: 'pump', kinds: ['power_unit'] })
    expect(gapLeft([need, slot], { id: 'pu', kind: 'power_unit' })).toBe(slot)
    expect(gapLeft([need], { id: 'pu', kind: 'power_unit' })).toBe(need)
    expect(gapLeft([slot], { id: 'other', kind: 'power_unit' })).toBeUndefined()
  })
  it('that is on its way to this rig is found', () => {
    const remedy = (on_its_way: boolean) => ({ candidates: [one({ on_its_way })] }) as Remedy
    expect(coming(remedy(true))?.piece).toBe('p')
    expect(coming(remedy(false))).toBeUndefined()
    expect(coming(undefined)).toBeUndefined()
  })
  it('says when it is expected, or that nobody knows', () => {
    const at = (day: string) => new Date(`${day}T12:00:00Z`)
    const late = one({ ready: false, expected_on: '2026-12-04' })
    expect(expectedWords(late, at('2026-12-04'))).toBe('expected 4 Dec 2026')
    expect(expectedWords(late, at('2026-12-05'))).toBe('was expected 4 Dec 2026')
    expect(expectedWords(one({ ready: false }))).toBe('no date given')
    expect(expectedWords(one({}))).toBe('')
  })
})
