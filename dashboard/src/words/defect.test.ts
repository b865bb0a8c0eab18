import { describe, expect, it } from 'vitest'
import type { Defect, DefectRule, Reason } from '@/api/types'
import { atOnceOf, choiceOf, CLASS_LIST, classesOf, repairDay, ruleFor } from './defect'
import { conditionWords, foundWords, seenAgainWords } from './found'
import { severityMark } from './marks'
import { spoken } from './time'

const rule = (fields: Partial<DefectRule>): DefectRule => ({
  kind: 'hose',
  class: 'leak',
  words: 'leaking',
  signs: 'technician',
  ending: 'returns',
  source: 'common practice, no source',
  usable_by: 'nobody',
  limit: null,
  repair_by_days: null,
  shop_must_see: true,
  readings: [],
  shipped: { usable_by: 'officer', limit: null, within: null, signs: 'technician', readings: [] },
  own: null,
  ...fields,
})

describe('damage that is reported by one tap', () => {
  it('is what a piece of that kind can have, a cut apart from a blister', () => {
    const hose = (['cut_or_blister', 'leak', 'kink'] as const).map((one) => rule({ class: one }))
    expect(atOnceOf(hose, 'hose').map((one) => one.word)).toEqual(['Cut', 'Leak', 'Blister', 'Kink'])
    const pack = (['leak', 'electrical'] as const).map((one) => rule({ kind: 'battery', class: one }))
    expect(atOnceOf(pack, 'battery').map((one) => one.word)).toEqual(['Leak'])
    expect(atOnceOf(pack, 'charger')).toEqual([])
  })
  it('is all of it while the rules are not on this phone', () => {
    expect(atOnceOf([], 'hose')).toHaveLength(4)
  })
})

describe('a class of defect', () => {
  it('that may never stay usable offers nothing else, and says why', () => {
    expect(choiceOf(rule({}), 'admin')).toMatchObject({
      usable: false,
      why: expect.stringContaining('until the shop has seen it'),
    })
  })
  it('that only an officer may call usable is not for the crew', () => {
    const other = rule({
      class: 'other',
      usable_by: 'officer',
      limit: 'Only for light work.',
      repair_by_days: 10,
    })
    expect(choiceOf(other, 'crew')).toMatchObject({ usable: false, why: expect.stringContaining('officer') })
    expect(choiceOf(other, 'officer')).toEqual({
      usable: true,
      why: '',
      limit: 'Only for light work.',
      days: 10,
    })
  })
  it('without a rule on this phone goes out of service: unknown is not usable', () => {
    expect(choiceOf(undefined, 'officer').usable).toBe(false)
    expect(choiceOf(rule({ usable_by: 'crew' }), 'crew').usable).toBe(true)
  })
  it('is offered only where such a piece can have it, all of them while no rules are here', () => {
    const rules = [rule({ kind: 'battery', class: 'flood' }), rule({ class: 'kink' })]
    expect(classesOf(rules, 'battery')).toEqual(['flood'])
    expect(classesOf(rules, 'hose')).toEqual(['kink'])
    expect(classesOf([], 'battery')).toEqual(CLASS_LIST)
    expect(ruleFor(rules, 'battery', 'kink')).toBeUndefined()
  })
  it('may be used until the day after discovery and the days that its class gives', () => {
    expect(repairDay(3, '2026-11-27')).toBe('2026-12-01')
    expect(repairDay(10, '2026-12-28')).toBe('2027-01-08')
    expect(repairDay(null, '2026-11-27')).toBeNull()
  })
})

describe('the limit of a usable defect', () => {
  const limit = 'Only small nicks, no crack. If the nick grows, take it out of service.'
  const nick = {
    what: 'Two nicks in the upper blade',
    seen_at: '2026-11-21T15:12:00Z',
    limit: { words: limit },
  } as Defect
  const reason: Pick<Reason, 'code' | 'words' | 'since'> = {
    code: 'open-defect',
    words: `cutter CU-1: ${limit}; to be repaired by 2026-12-02 00:00`,
    since: '2026-11-21T15:12:00.000000Z',
  }
  it('is a condition, after what the crew found', () => {
    const words = spoken(foundWords(reason, [nick]), new Date('2026-11-28T10:00:00Z'))
    expect(words).toBe(
      'cutter CU-1: “Two nicks in the upper blade”. Usable only if: small nicks, no crack. If the nick grows, take it out of service. To be repaired by 2 Dec 2026',
    )
  })
  it('is left as it is where the finding stands in the words already, or is not known here', () => {
    const said = { ...reason, words: `cutter CU-1: “${nick.what}”; usable only if: ${limit}` }
    expect(foundWords(said, [nick])).toBe(said.words)
    expect(foundWords(reason, [])).toBe(reason.words)
    expect(foundWords({ ...reason, code: 'life-ended' }, [nick])).toBe(reason.words)
  })
  it('belongs to its own defect where two have the same one', () => {
    const other = { ...nick, what: 'One more nick', seen_at: '2026-11-25T08:00:00Z' }
    expect(foundWords({ ...reason, since: '2026-11-25T08:00:00.000000Z' }, [nick, other])).toContain(
      '“One more nick”.',
    )
  })
  it('never reads as a yes on a piece that must not be used', () => {
    expect(severityMark('usable').word).toBe('Still usable')
    expect(severityMark('usable', true).word).not.toMatch(/still usable/i)
    expect(conditionWords('Use it only with an officer watching.')).toBe(
      'Usable only like this: Use it only with an officer watching.',
    )
  })
  it('counts as people do', () =>
    expect([1, 2, 3].map(seenAgainWords)).toEqual([
      'seen again once',
      'seen again twice',
      'seen again 3 times',
    ]))
})
