import { describe, expect, it } from 'vitest'
import type { Member } from '@/api/types'
import { dayAfter, endMark, endWords, familiesOf, reachFields, reachOf, runOuts, yearAfter } from './people'
import { holds } from '@/words/signoff'

const TODAY = '2026-11-28'
const by = { id: null, name: 'An officer' }
const member = (name: string, fields: Partial<Member> = {}): Member => ({
  id: name,
  name,
  email: `${name}@agency.example`,
  role: 'crew',
  district: null,
  station: null,
  active: true,
  has_pin: false,
  sign_offs: [],
  certificate: null,
  rev: 1,
  ...fields,
})

describe('an end', () => {
  it('counts its last day', () => {
    expect(endWords('2026-11-28', TODAY)).toBe('today is the last day')
    expect(endWords('2026-11-27', TODAY)).toBe('ran out 27 Nov 2026')
    expect(endWords('2026-11-29', TODAY)).toBe('1 more day, until 29 Nov 2026')
    expect(endWords('2027-01-27', TODAY)).toBe('60 more days, until 27 Jan 2027')
    expect(endWords('2027-01-28', TODAY)).toBe('until 28 Jan 2027')
  })
  it('is never sound once it has passed', () => {
    expect(endMark('2026-11-27', TODAY).tone).toBe('stop')
    expect(endMark('2026-11-28', TODAY).tone).toBe('weak')
    expect(endMark('2027-11-28', TODAY).tone).toBe('quiet')
  })
  it('a year on is the same day, and the 28th after a leap day', () => {
    expect(yearAfter(TODAY)).toBe('2027-11-28')
    expect(yearAfter('2028-02-29')).toBe('2029-02-28')
    expect(dayAfter('2026-12-31', 1)).toBe('2027-01-01')
  })
})

it('what runs out stands soonest first, without those who have left', () => {
  const off = (
    kind: 'cutter' | 'ram',
    until: string,
    practise_by = '2099-01-01',
    family: string | null = null,
  ) => ({
    kind,
    family,
    until,
    on: '2026-01-01',
    by,
    practised_on: null,
    practise_by,
  })
  const all = [
    member('Ash', { sign_offs: [off('cutter', '2027-01-10'), off('ram', '2027-06-01')] }),
    member('Birch', { certificate: { paper: 'No. 7', until: '2026-11-01', by } }),
    member('Cedar', { active: false, sign_offs: [off('ram', '2026-11-01')] }),
    // Practice is asked of those who are still signed off, and not where the sign-off itself ends before.
    member('Dogwood', {
      sign_offs: [
        off('ram', '2027-06-01', '2026-11-30', 'Kestrel'),
        off('cutter', '2027-06-01', '2027-06-01'),
      ],
    }),
  ]
  expect(runOuts(all, TODAY).map((one) => [one.member.name, one.what, one.until])).toEqual([
    ['Birch', 'Certificate, No. 7', '2026-11-01'],
    ['Dogwood', 'Yearly practice, Kestrel ram', '2026-11-30'],
    ['Ash', 'Cutter', '2027-01-10'],
  ])
  expect(holds(all[3]!, { kind: 'ram', family: 'KESTREL' }, TODAY)).toBe(true)
  expect(holds(all[3]!, { kind: 'ram', family: null }, TODAY)).toBe(false)
})

it('says in one line what runs out on one day', () => {
  const off = (kind: 'cutter' | 'ram' | 'spreader', until: string) => ({
    kind,
    family: null,
    until,
    by,
    on: '2026-01-10',
    practised_on: null,
    practise_by: until,
  })
  const all = [
    member('Elm', {
      sign_offs: [off('cutter', '2026-12-23'), off('ram', '2026-12-24'), off('spreader', '2026-12-23')],
    }),
  ]
  expect(runOuts(all, TODAY).map((one) => [one.what, one.until])).toEqual([
    ['Cutter, spreader', '2026-12-23'],
    ['Ram', '2026-12-24'],
  ])
})

it('a reach comes back as it was chosen', () => {
  for (const reach of [
    { district: null, station: null },
    { district: 'd1', station: null },
    { district: null, station: 's1' },
  ])
    expect(reachFields(reachOf(reach))).toEqual(reach)
})

it('families are what the models name, whatever the capitals', () =>
  expect(
    familiesOf([
      { kind: 'cutter', family: 'Kestrel' },
      { kind: 'ram', family: 'kestrel' },
      { kind: 'ram', family: null },
      { kind: 'cutter', family: 'Avocet' },
    ]),
  ).toEqual([
    { family: 'Avocet', kinds: ['cutter'] },
    { family: 'Kestrel', kinds: ['cutter', 'ram'] },
  ]))
