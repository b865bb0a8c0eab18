import { describe, expect, it } from 'vitest'
import type { CardText, OperatingCard } from '@/api/types'
import { cardParts, cardStamp, isBehind, noCardWords, SECTION_LIST } from './card'

const NONE = Object.fromEntries(SECTION_LIST.map((one) => [one, ''])) as Omit<CardText, 'pictures'>
const card = (more: Partial<OperatingCard> = {}) =>
  ({
    version: 2,
    approved_by: { id: 'a', name: 'Ann Lee' },
    written_by: { id: 'b', name: 'Bo Chan' },
    approved_at: '2026-11-03T10:00:00.000000Z',
    ...more,
  }) as OperatingCard

describe('an operating card', () => {
  it('leaves out what is not said, and keeps a section that has only a picture', () => {
    const pictures = [{ photo: 'f'.repeat(64), section: 'levers' as const, words: 'The dump valve' }]
    const parts = cardParts({ ...NONE, start: '1. Fuel on', differs: 'No choke', pictures }, 'Dorvan K5')
    expect(parts.map((one) => one.title)).toEqual(['Start', 'Levers and valves', 'Different from Dorvan K5'])
    expect(parts[1]?.pictures).toEqual(pictures)
  })
  it('says who answers for it, and where one person did both', () => {
    expect(cardStamp(card())).toMatch(/^Version 2, approved by Ann Lee on .*2026; written by Bo Chan$/)
    expect(cardStamp(card({ written_by: { id: 'a', name: 'Ann Lee' } }))).toMatch(/who wrote it too$/)
  })
  it('says why there is none', () => {
    expect(noCardWords(undefined)).toMatch(/Nobody has written/)
    const withdrawn = {
      withdrawn_at: '2026-11-04T10:00:00.000000Z',
      withdrawn_by: { id: 'a', name: 'Ann Lee' },
      withdrawn_reason: 'wrong lever.',
    }
    expect(noCardWords(card(withdrawn))).toMatch(/withdrawn .* by Ann Lee: “wrong lever”\.$/)
  })
  it('knows a draft that was begun before the version of now', () => {
    expect(isBehind({ from_version: 0 }, undefined)).toBe(false)
    expect(isBehind({ from_version: 1 }, card())).toBe(true)
    expect(isBehind({ from_version: 2 }, card())).toBe(false)
  })
})
