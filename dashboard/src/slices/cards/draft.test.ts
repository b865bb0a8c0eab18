import { describe, expect, it } from 'vitest'
import type { CardDraft } from '@/api/types'
import { begin, draftWrite, ended, lacks, MOST_CARD, MOST_SECTION, signsOf } from './draft'

const picture = (words: string) => ({ photo: 'a'.repeat(64), section: 'start' as const, words })

describe('the draft of a card', () => {
  it('begins with a copy, and is sent without what only the form holds', () => {
    const text = begin(null)
    text.start = '  1. Fuel on\n'
    text.replaces = ''
    text.pictures.push(picture(' The choke '))
    expect(ended(text)).toMatchObject({
      start: '1. Fuel on',
      replaces: null,
      pictures: [{ words: 'The choke' }],
    })
    expect(begin(text).pictures[0]).not.toBe(text.pictures[0])
  })
  it('says what is still to be done', () => {
    const text = begin(null)
    expect(lacks(text)).toEqual(['say something in one section at least'])
    text.start = 'a'.repeat(MOST_SECTION)
    expect(lacks(text)).toEqual([])
    text.start += 'a'
    text.pictures.push(picture(' '))
    expect(lacks(text)).toHaveLength(2)
    for (const one of ['stowed', 'levers', 'controls', 'care', 'cautions'] as const)
      text[one] = 'ä'.repeat(MOST_SECTION)
    expect(signsOf(text)).toBeGreaterThan(MOST_CARD)
    expect(lacks(text)[0]).toMatch(/10,000/)
  })
  it('is a new one, or a change of what was seen', () => {
    const text = begin(null)
    const subject = { of: 'model' as const, model: 'm' }
    expect(draftWrite('new', subject, undefined, 2, text, ' ')).toMatchObject({
      kind: 'card_draft.add',
      body: { id: 'new', subject, from_version: 2, note: null },
    })
    const seen = { id: 'old', rev: 7 } as CardDraft
    const write = draftWrite('new', subject, seen, 3, text, 'the choke')
    expect(write).toMatchObject({
      kind: 'card_draft.edit',
      expects: 7,
      body: { id: 'old', note: 'the choke' },
    })
    expect(write.body).not.toHaveProperty('subject')
  })
})
