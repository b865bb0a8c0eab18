import { describe, expect, test } from 'vitest'
import type { DueYear, PlanAsk, PlanVisit } from '@/api/types'
import { helpsOf } from './relief'
import {
  alike,
  dayIn,
  dueWords,
  latenessOf,
  move,
  nextMonday,
  peakOf,
  pinsOf,
  redated,
  runWords,
  troublesOf,
  weeksOf,
} from './weeks'

const ask: PlanAsk = {
  first_day: '2026-11-30',
  period_days: 7,
  periods: 10,
  early_days: 28,
  late_days: 28,
  hours_per_set: 4,
  hours: [],
  shops: [{ shop: 'shop', hours: 6, closed: [3], periods: [] }],
  caps: [],
  pins: [],
}
const visit = (set: string, period: number, more: Partial<PlanVisit> = {}): PlanVisit => ({
  set,
  name: `Set ${set}`,
  district: 'north',
  period,
  shop: 'shop',
  hours: 4,
  due_on: '2026-12-20',
  late: 0,
  pinned: false,
  stand_in: null,
  ...more,
})
const due: DueYear = {
  periods: [],
  sets: ['a', 'b'].map((set) => ({
    set,
    name: `Set ${set}`,
    district: 'north',
    home_words: '',
    pieces: 3,
    due_on: '2026-12-20',
    due_period: 2,
    earliest: 0,
    latest: 4,
    hours: 4,
    overdue: false,
    takes_place: true,
    words: '',
  })),
  districts: [
    {
      id: 'north',
      name: 'North',
      full: 4,
      minimum: 3,
      stand_ins: 0,
      most_away: 1,
      by_period: Array.from({ length: 10 }, () => 1),
      reserves: [],
    },
  ],
  shops: [{ id: 'shop', name: 'Shop', hours: ask.shops.flatMap(() => [6, 6, 6, 0, 6, 6, 6, 6, 6, 6]) }],
  left_out: [],
}

describe('days', () => {
  test('the day is the agency’s, not the browser’s', () => {
    expect(dayIn('America/Denver', new Date('2026-11-26T03:00:00Z'))).toBe('2026-11-25')
  })
  test('a plan begins on the Monday after', () => {
    expect(nextMonday('2026-11-25')).toBe('2026-11-30')
    expect(nextMonday('2026-11-30')).toBe('2026-12-07')
    expect(nextMonday('2026-11-29')).toBe('2026-11-30')
  })
  test('due days in words', () => {
    expect(dueWords('2026-10-18', '2026-11-25')).toBe('38 days overdue')
    expect(dueWords('2026-11-25', '2026-11-25')).toBe('due today')
    expect(dueWords('2026-11-26', '2026-11-25')).toBe('due in 1 day')
  })
  test('runs of weeks are drawn together', () => {
    expect(runWords(ask, [4, 0, 1, 2])).toBe('the weeks of 30 Nov to 14 Dec, the week of 28 Dec')
  })
})

test('weeks without a visit are drawn together, but this one is shown', () => {
  const span = { first: '2026-11-30', last: '2027-01-03', days: 7 }
  const weeks = weeksOf([{ first: '2026-12-28', last: '2027-01-03' }], span, '2026-12-09')
  expect(weeks.map((week) => [week.first, week.last, week.empty, week.now])).toEqual([
    ['2026-11-30', '2026-12-06', 1, false],
    ['2026-12-07', '2026-12-13', 0, true],
    ['2026-12-14', '2026-12-27', 2, false],
    ['2026-12-28', '2027-01-03', 0, false],
  ])
})

describe('a plan changed by hand', () => {
  test('a moved set is pinned, and late by the week in which it is due', () => {
    const moved = move([visit('a', 1), visit('b', 2)], 'a', { period: 4, shop: 'shop' }, due)
    expect(moved[0]).toMatchObject({ period: 4, late: 2, pinned: true })
    expect(moved[1]).toEqual(visit('b', 2))
    expect(latenessOf(moved)).toBe(2)
    expect(move(moved, 'a', { period: 0, shop: 'shop' }, due)[0]).toMatchObject({ late: 0, pinned: true })
  })
  test('without what the register says, lateness is counted on', () => {
    expect(move([visit('a', 3, { late: 1 })], 'a', { period: 5, shop: 'shop' }, null)[0]?.late).toBe(3)
  })
  test('what it breaks is said: the district, the shop, the window', () => {
    expect(troublesOf([visit('a', 0), visit('b', 1)], ask, due)).toEqual([])
    const words = troublesOf([visit('a', 5), visit('b', 5)], ask, due).map((trouble) => trouble.words)
    expect(words).toHaveLength(4)
    expect(words[0]).toContain('North would be without 2 sets in the week of 4 Jan 2027 and can spare 1')
    expect(words[1]).toContain('Shop would have 8 h of work')
    expect(words[2]).toContain('Set a is outside of its window')
  })
  test('a closed week has no hours', () => {
    expect(troublesOf([visit('a', 3)], ask, due).map((trouble) => trouble.words)).toEqual([
      'Shop would have 4 h of work in the week of 21 Dec and has 0 h.',
    ])
  })
  test('a reserve set that takes no place strips nobody', () => {
    const free = { ...due, sets: due.sets.map((set) => ({ ...set, takes_place: set.set !== 'a' })) }
    const some = [visit('a', 1, { hours: 1 }), visit('b', 1, { hours: 1 })]
    expect(troublesOf(some, ask, free)).toEqual([])
    expect(troublesOf(some, ask, due)).toHaveLength(1)
  })
  test('the fullest week is of one shop', () => {
    expect(peakOf([visit('a', 1), visit('b', 1, { shop: 'other', hours: 7 }), visit('c', 1)], 10)).toBe(8)
  })
})

describe('other days', () => {
  test('pins and closed weeks stay on their days', () => {
    const pinned = { ...ask, pins: [{ set: 'a', period: 1, shop: 'shop' }] }
    const later = redated(pinned, { first_day: '2026-12-07' })
    expect(later.pins).toEqual([{ set: 'a', period: 0, shop: 'shop' }])
    expect(later.shops[0]?.closed).toEqual([2])
    expect(redated(pinned, { first_day: '2026-12-14' }).pins).toEqual([])
    expect(redated(pinned, { periods: 3 }).shops[0]?.closed).toEqual([])
  })
  test('pins of a plan are put on the days of the next one', () => {
    const visits = [
      visit('a', 1, { pinned: true }),
      visit('b', 2),
      visit('c', 2, { pinned: true, shop: 'gone' }),
    ]
    expect(pinsOf(visits, ask, { ...ask, first_day: '2026-12-07' })).toEqual([
      { set: 'a', period: 0, shop: 'shop' },
    ])
  })
  test('two asks are alike whatever is pinned', () => {
    expect(alike(ask, { ...ask, pins: [{ set: 'a', period: 1, shop: 'shop' }] })).toBe(true)
    expect(alike(ask, { ...ask, early_days: 27 })).toBe(false)
  })
})

describe('what would make a plan possible', () => {
  test('a stand-in is one change for all its weeks', () => {
    const relief = { district: 'north', more: 1, words: '' }
    const helps = helpsOf(
      [1, 2, 8].map((period) => ({ ...relief, period })),
      ask,
      due,
    )
    expect(helps.map((help) => help.words)).toEqual([
      'One more stand-in for North in the weeks of 7 Dec to 14 Dec, the week of 25 Jan 2027',
    ])
    const periods = [1, 2, 8].map((period) => ({ period, most_away: 2 }))
    expect(helps[0]?.apply(ask).caps).toEqual([{ district: 'north', most_away: null, periods }])
  })
  test('each week gets what it needs, beside what a person said', () => {
    const said = {
      ...ask,
      caps: [{ district: 'north', most_away: 1, periods: [{ period: 5, most_away: 0 }] }],
    }
    const helps = helpsOf(
      [1, 2].map((more) => ({ district: 'north', more, period: more, words: '' })),
      said,
      due,
    )
    expect(helps[0]?.apply(said).caps).toEqual([
      {
        district: 'north',
        most_away: 1,
        periods: [
          { period: 1, most_away: 2 },
          { period: 2, most_away: 3 },
          { period: 5, most_away: 0 },
        ],
      },
    ])
  })
  test('many weeks are counted', () => {
    const reliefs = [0, 2, 4, 6].map((period) => ({ district: 'north', more: 1, period, words: '' }))
    expect(helpsOf(reliefs, ask, due)[0]?.words).toBe(
      'One more stand-in for North in 4 weeks from 30 Nov to 17 Jan',
    )
  })
  test('hours at a shop, and a closed week that has to open', () => {
    const helps = helpsOf(
      [
        { shop: 'shop', more: 2, period: 1, words: '' },
        { shop: 'shop', more: 4, period: 3, words: '' },
      ],
      ask,
      due,
    )
    expect(helps[0]?.words).toBe(
      '2 h more at Shop in the week of 7 Dec, the week of 21 Dec, and open it in the week of 21 Dec',
    )
    expect(helps[0]?.apply(ask).shops).toEqual([{ shop: 'shop', hours: 8, closed: [], periods: [] }])
  })
})
