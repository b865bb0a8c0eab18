import { describe, expect, it } from 'vitest'
import type { Replacements } from '@/api/types'
import { costWords, headWords, lineName, replacementRows, sumWords } from './replacements'

const sum = (pieces: number, amount = 0, unpriced = 0, parts = 0) => ({ pieces, amount, unpriced, parts })
const line = (more: object = {}) => ({
  ...{ year: 2029, model: 'm', name: 'Orvane H10', kind: 'hose', part: 'whole', cause: 'life' },
  ...{ again: false, pieces: 3, amount: 1237.53, ...more },
})
const found = (overdue: object, years: object[], lines: object[] = []) =>
  ({ overdue, years, lines, worn: [], unknown: [], no_life: [] }) as unknown as Replacements

describe('what has to be replaced', () => {
  it('says what is in a sum and what is not', () => {
    expect(sumWords(sum(0))).toBe('nothing')
    expect(sumWords(sum(3, 1237.5))).toBe('3 pieces: 1,237.50')
    expect(sumWords(sum(1, 0, 1))).toBe('1 piece: 1 without a price')
    expect(sumWords(sum(5, 800, 2, 1))).toBe('5 pieces: 800 and 2 without a price; 1 part')
  })
  it('never calls a sum whole while something has no price', () => {
    const years = [{ ...sum(2, 800), year: 2026, so_far: 1200 }]
    expect(headWords(found(sum(1, 400), years))).toBe('3 pieces to replace in ten years, 1,200')
    expect(headWords(found(sum(2, 400, 1), years))).toBe('4 pieces to replace in ten years, at least 1,200')
    expect(headWords(found(sum(1, 0, 1), []))).toBe('1 piece to replace in ten years, none with a price')
    expect(headWords(found(sum(0), []))).toBe('Nothing is known to need replacing in ten years')
  })
  it('never leaves out of the headline what has no life set', () => {
    const years = [{ ...sum(82, 44_810.5), year: 2026, so_far: 44_810.5 }]
    const packs = { kind: 'battery', pieces: 41, models: ['Orvane P5'], words: '41 battery packs' }
    const some = { ...found(sum(0), years), no_life: [packs] } as Replacements
    expect(headWords(some)).toBe(
      '82 pieces to replace in ten years, at least 44,810.50; 41 battery packs have no life set and are not in it',
    )
    const one = { ...packs, pieces: 1, words: '1 battery pack' }
    expect(headWords({ ...found(sum(0), []), no_life: [one] } as Replacements)).toBe(
      'Nothing is known to need replacing in ten years; 1 battery pack has no life set and is not in it',
    )
    const rows = replacementRows(some, () => null)
    expect(rows.at(-1)?.slice(0, 6)).toEqual(['In no year', 'Battery', 'Orvane P5', '', 'no life is set', 41])
    expect(rows.at(-1)).toHaveLength(rows[0]?.length ?? 0)
  })
  it('is a file with a row for each line, a part without a price', () => {
    const part = line({ part: 'whip_hose', amount: null, year: null })
    const rows = replacementRows(
      found(sum(0), [], [line(), part, line({ again: true, cause: 'readings' })]),
      () => [412.51, '2026-10-01'],
    )
    expect(rows).toHaveLength(4)
    expect(rows[1]).toEqual([
      '2029',
      'Hose',
      'Orvane H10',
      'the piece itself',
      'service life ends',
      3,
      412.51,
      '2026-10-01',
      1237.53,
    ])
    expect(rows[2]?.[0]).toBe('Ended already')
    expect(rows[2]?.slice(5)).toEqual([3, null, null, null])
    expect(rows[3]?.[4]).toBe('readings reach a limit, bought in these years')
    expect(lineName(part as never)).toBe('whip hose of Orvane H10')
    expect([line(), part, line({ amount: null })].map((one) => costWords(one as never))).toEqual([
      '1,237.53',
      'a part, not priced',
      'no price',
    ])
  })
})
