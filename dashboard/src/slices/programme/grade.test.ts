import { describe, expect, it } from 'vitest'
import type { Grade } from '@/api/types'
import { alternativeWords, gradeExtras, termsOf, withCover, withMinimum } from './grade'

const ram = {
  kinds: ['ram' as const],
  minimums: { push_force: { value: 60, unit: 'kN', standard: 'EN 13204' } },
}
const covers = { from: { value: 540, unit: 'mm' }, to: { value: 1500, unit: 'mm' } }
const grade: Grade = {
  needs: [
    {
      id: 'push',
      name: 'Ram or rams',
      alternatives: [
        { parts: [ram], covers },
        { parts: [ram, ram], covers },
      ],
    },
  ],
  tools_at_once: 2,
  kinds_of_drive: 1,
  spare_packs: 1,
  line_length: { value: 10, unit: 'm' },
  hand_pump: false,
}

describe('a grade', () => {
  it('is said in words, with its figures in the units of the agency and their standard', () => {
    const [one, two] = grade.needs[0]?.alternatives ?? []
    expect(one && alternativeWords(one, 'si')).toBe(
      'ram: push force at least 60 kN (EN 13204); it reaches from 540 mm to 1,500 mm without a gap',
    )
    expect(two && alternativeWords(two, 'us')).toMatch(
      /^2 × ram: .*13,490 lbf.*together they reach from 21\.3 in/,
    )
    expect(gradeExtras(grade, 'si')).toEqual([
      '2 tools at once',
      '1 spare pack where battery tools are counted',
      '10 m of hose to each tool',
    ])
  })
  it('says of what is better small that it is the most', () => {
    const light = { parts: [{ kinds: ['cutter' as const], minimums: { mass: { value: 20, unit: 'kg' } } }] }
    expect(alternativeWords(light, 'si')).toBe('cutter: weight at most 20 kg')
  })
  it('takes a figure at its own place, and leaves the rest as it was', () => {
    const spot = { need: 0, alternative: 1, part: 1, term: 'push_force' }
    const next = withMinimum(grade, spot, { value: 100, unit: 'kN' })
    expect(next.needs[0]?.alternatives[1]?.parts[1]?.minimums?.['push_force']?.value).toBe(100)
    expect(next.needs[0]?.alternatives[1]?.parts[0]?.minimums?.['push_force']?.value).toBe(60)
    expect(next.needs[0]?.alternatives[0]).toEqual(grade.needs[0]?.alternatives[0])
    expect(withMinimum(grade, spot, null).needs[0]?.alternatives[1]?.parts[1]?.minimums).toEqual({})
    expect(withCover(grade, 0, 0, 650, 1600).needs[0]?.alternatives[0]?.covers).toEqual({
      from: { value: 650, unit: 'mm' },
      to: { value: 1600, unit: 'mm' },
    })
  })
  it('offers only figures that such a tool can have', () => {
    expect(Object.keys(termsOf({ kinds: ['cutter'], minimums: {} }))).not.toContain('push_force')
    expect(Object.keys(termsOf({ kinds: ['combination_tool'], minimums: {} }))).toEqual(
      expect.arrayContaining(['cutter_opening', 'rated_spreading_force']),
    )
  })
})
