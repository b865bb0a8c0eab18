import { beforeEach, describe, expect, it } from 'vitest'
import type { AnyRecord, Piece, Verdict } from '@/api/types'
import { freshWord } from './fresh'
import { districtWords, marginWords, untilLevelWords } from './level'
import { placeWords } from './place'
import { ratingStandard } from './ratings'
import { ago, clock, dateWords, moment, spoken, useZone } from './time'
import { mayBeUsed, untilWords, verdictWords } from './verdict'
import { distance, quantity } from './units'

describe('time', () => {
  beforeEach(() => useZone('America/Chicago'))
  const now = new Date('2026-11-25T20:30:00Z')
  it('is shown in the agency’s zone, 24 h', () => {
    expect(clock('2026-11-25T20:20:00Z')).toBe('14:20')
    expect(moment('2026-11-25T06:05:00Z', now)).toBe('00:05')
    expect(moment('2026-11-25T05:59:00Z', now)).toBe('Tue 24 Nov 23:59')
    expect(moment('2025-03-01T12:00:00Z', now)).toBe('1 Mar 2025 06:00')
  })
  it('says unknown for what is unknown', () => {
    expect(moment(null, now)).toBe('unknown')
    expect(dateWords(null)).toBe('unknown')
  })
  it('does not move a calendar date into another day', () => {
    expect(dateWords('2026-11-25')).toBe('25 Nov 2026')
  })
  it('counts minutes, hours and days', () => {
    expect(ago('2026-11-25T20:29:50Z', now)).toBe('just now')
    expect(ago('2026-11-25T19:50:00Z', now)).toBe('40 min')
    expect(ago('2026-11-24T20:30:00Z', now)).toBe('24 h')
    expect(ago('2026-11-20T20:30:00Z', now)).toBe('5 days')
  })
})

describe('the server’s words', () => {
  beforeEach(() => useZone('America/Chicago'))
  const now = new Date('2026-11-25T20:30:00Z')
  it('have their instants said as the page says them', () => {
    expect(spoken('used 2026-11-25 02:10, not checked since', now)).toBe('used 02:10, not checked since')
    expect(spoken('out of service since 2026-11-24 03:41, cut', now)).toBe(
      'out of service since 24 Nov 03:41, cut',
    )
    expect(spoken('service life ended 2019-05-01 00:00', now)).toBe('service life ended 1 May 2019')
    expect(spoken('serial 2026-99-12', now)).toBe('serial 2026-99-12')
  })
  it('call an answer good only where it is', () => {
    const until = '2026-11-26T20:30:00Z'
    expect(untilWords(until, 'yes', null, now)).toBe('Good until Thu 26 Nov 14:30')
    expect(untilWords(until, 'yes_with_limit', null, now)).toBe('Good until Thu 26 Nov 14:30')
    for (const verdict of ['no', 'not_on_this_rig', 'cannot_be_confirmed'] as const)
      expect(untilWords(until, verdict, null, now)).toBe(
        'No date on record changes this before Thu 26 Nov 14:30',
      )
    expect(untilWords(null, 'no', null, now)).toBe('')
    const sound = { level: 'full', expects: 'full', confirmed: true, completeness: 'complete' } as const
    const none = 'No date on record changes that before Thu 26 Nov 14:30.'
    expect(untilLevelWords(sound, until, null, now)).toMatch(/^Good until/)
    expect(untilLevelWords(sound, until, 'annual service of ram RM-7 due', now)).toBe(
      'Good until Thu 26 Nov 14:30: annual service of ram RM-7 due.',
    )
    for (const worse of [
      { level: 'none' },
      { level: 'limited' },
      { expects: 'heavy' },
      { confirmed: false },
      { completeness: 'incomplete' },
    ] as const)
      expect(untilLevelWords({ ...sound, ...worse }, until, 'annual service of ram RM-7 due', now)).toBe(none)
    expect(spoken('came aboard 2026-11-24 03:41, not tried on this rig since', now)).toBe(
      'came aboard 24 Nov 03:41, not tried on this rig since',
    )
  })
  it('ask to look a piece over only where it may be used', () => {
    expect(mayBeUsed('no')).toBe(false)
    expect(mayBeUsed('not_on_this_rig')).toBe(false)
    expect(mayBeUsed('cannot_be_confirmed')).toBe(true)
  })
  it('make the verdict of a piece, its reason first and its own name left out', () => {
    const piece = { kind: 'hose', tag: 'HO-9' } as Piece
    const of = (verdict: Verdict, words = '', last_check: string | null = null, of = piece) =>
      verdictWords(
        {
          verdict,
          last_check,
          reasons: words ? [{ piece: null, code: 'no-plan', since: null, words: `hose HO-9: ${words}` }] : [],
        },
        of,
        now,
      )
    expect(of('no', 'service life ended 2019-05-01 00:00')).toBe('No: service life ended 1 May 2019')
    expect(of('not_on_this_rig', 'no usable source aboard feeds it')).toBe(
      'No on this rig: no usable source aboard feeds it',
    )
    expect(of('cannot_be_confirmed', 'used 2026-11-25 02:10, not checked since')).toBe(
      'Cannot be confirmed: used 02:10, not checked since',
    )
    expect(of('yes_with_limit', 'do not use it for pulling')).toBe(
      'Yes, with limit: do not use it for pulling',
    )
    const at = '2026-11-03T14:00:00Z'
    expect(of('yes', '', at)).toBe('Yes, by its last service on 3 Nov 2026; no check is on record')
    expect(of('yes', '', at, { ...piece, checked_at: '2026-10-01T08:00:00Z' })).toBe(
      'Yes, by its last service on 3 Nov 2026',
    )
    expect(of('yes', '', at, { ...piece, checked_at: at })).toBe('Yes, by its last check on 3 Nov 2026')
    expect(of('yes')).toBe('Yes, records say')
  })
})

describe('units', () => {
  it('shows one system, and leaves what was typed in it alone', () => {
    expect(quantity({ value: 10500, unit: 'psi' }, 'us')).toBe('10,500 psi')
    expect(quantity({ value: 10500, unit: 'psi' }, 'si')).toBe('724 bar')
    expect(quantity({ value: 46, unit: 'kN' }, 'us')).toBe('10,340 lbf')
    expect(quantity({ value: 150, unit: 'mm' }, 'us')).toBe('5.91 in')
    expect(quantity({ value: 19.2, unit: 'kg' }, 'us')).toBe('42.3 lb')
  })
  it('keeps a unit it does not know, and says unknown for nothing', () => {
    expect(quantity({ value: 3, unit: 'circuits' }, 'si')).toBe('3 circuits')
    expect(quantity(null, 'si')).toBe('unknown')
    expect(distance(10, 'us')).toBe('6.2 mi')
    expect(distance(null, 'si')).toBe('distance unknown')
  })
})

describe('sentences', () => {
  it('say in words that a district is short', () => {
    expect(districtWords(0, 2)).toBe('short: 0 full of 2 wanted, 2 rigs missing')
    expect(districtWords(2, 2)).toContain('none to spare')
    expect(districtWords(0, 1, true)).not.toMatch(/short|wanted/)
    expect(districtWords(1, 0)).toBe('1 full, no minimum set')
  })
  it('say the margin', () => {
    expect(marginWords(0, 'full')).toContain('losing a single piece can drop it')
    expect(marginWords(null, 'none')).toContain('the rig meets no grade')
    expect(marginWords(2, 'full')).toBe('can lose 2 more pieces, whichever they are')
  })
  it('never let in transit sound like arrived', () => {
    const names = { rig: () => 'Engine 4', station: () => undefined, shop: () => undefined }
    expect(placeWords({ at: 'transit', to: { at: 'rig', rig: 'r' } }, names)).toBe(
      'In transit, not yet arrived: on Engine 4',
    )
  })
  it('name the standard and its edition beside a rating, or say that it is missing', () => {
    expect(ratingStandard('push_force', { value: 1, unit: 'kN' })).toBe('standard not stated')
    expect(ratingStandard('push_force', { standard: 'EN 13204', edition: null })).toBe(
      'EN 13204, edition not stated',
    )
  })
})

describe('what just changed', () => {
  const record = (fields: Record<string, unknown>): AnyRecord => ({ id: 'x', rev: 1, ...fields })
  it('names the new level', () => {
    const words = freshWord('rig_standing', record({ level: 'full' }), record({ level: 'limited' }))
    expect(words).toEqual([{ kind: 'rig_standing', id: 'x', word: 'now limited' }])
  })
  it('points out nothing when an answer was computed again and says the same', () => {
    const same = { level: 'full', gaps: [], fillings: [], margin: 1, also: [] }
    expect(freshWord('rig_standing', record(same), record({ ...same, rev: 2 }))).toEqual([])
  })
  it('points a new defect out on its piece as well', () => {
    const marks = freshWord('defect', undefined, record({ piece: 'p', state: 'open' }))
    expect(marks.map((m) => `${m.kind}/${m.id}: ${m.word}`)).toEqual([
      'defect/x: just reported',
      'piece/p: new defect',
    ])
  })
})
