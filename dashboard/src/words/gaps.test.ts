import { describe, expect, it } from 'vitest'
import type { Gap } from '@/api/types'
import { againWords, gapRows, namesWords } from './gaps'

const again = {
  kinds: ['power_unit' as const],
  family: 'Mono, mineral oil',
  words: 'runs again with a power unit on Mono, mineral oil',
}
const gap = (more: Partial<Gap>): Gap => ({
  in: 'need',
  id: 'cut',
  name: 'Cutter',
  required: true,
  kinds: ['cutter'],
  words: [],
  near: [],
  compete: null,
  runs_again: null,
  ...more,
})

describe('the gaps of a rig', () => {
  it('stand under the one part that holds them up', () => {
    const rows = gapRows([
      gap({ runs_again: again }),
      gap({ id: 'push', name: 'Ram', kinds: ['ram'], runs_again: again }),
      gap({ id: 'spread', name: 'Spreader', kinds: ['spreader'] }),
      gap({ in: 'slot', id: 'power', name: 'Power unit', kinds: ['power_unit'] }),
      gap({ in: 'slot', id: 'chains', name: 'Chains', kinds: ['accessory'] }),
      gap({ in: 'slot', id: 'spreader', name: 'Spreader', kinds: ['spreader'] }),
    ])
    expect(rows.map((row) => [row.key, namesWords(row.names), row.mends.id])).toEqual([
      ['need:cut', 'Cutter and Ram', 'power'],
      ['need:spread', 'Spreader', 'spread'],
      ['slot:chains', 'Chains', 'chains'],
    ])
    expect(againWords(rows[0]!)).toBe('run again with a power unit on Mono, mineral oil')
    expect(againWords(rows[1]!)).toBe('')
  })
  it('have their own remedies where the list does not ask for the part', () => {
    const [row] = gapRows([gap({ runs_again: again })])
    expect([row?.mends.id, againWords(row!)]).toEqual(['cut', again.words])
  })
})
