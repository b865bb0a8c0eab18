import { afterEach, describe, expect, it } from 'vitest'
import { roleWord } from './people'
import { programmeTabs } from './programme'
import { spelled, SPELLINGS, useLocale } from './locale'
import { LOCALES } from './locales'
import { madeWords } from './life'
import { dateIn, dateWords, dayWords, moment, sinceWords, spoken, stampWords, useZone } from './time'

afterEach(() => {
  useLocale()
  useZone()
})
const now = new Date('2026-11-30T12:00:00Z')
const AS_BRITISH = ['en-GB', 'en-IE', 'en-NZ'] as const

describe('words', () => {
  it('are British where nothing was chosen, and where what was chosen is not known here', () => {
    expect(spelled('Programme')).toBe('Programme')
    useLocale('en-XX' as 'en-GB')
    expect(spelled('Programme')).toBe('Programme')
    expect(dateWords('2026-11-30')).toBe('30 Nov 2026')
  })
  it('are those of the country, with their capital, and nothing else in a sentence changes', () => {
    for (const one of ['en-US', 'en-CA', 'en-AU'] as const)
      expect(spelled('The Programme, a programme.', one)).toBe('The Program, a program.')
    for (const one of AS_BRITISH) expect(spelled('The Programme.', one)).toBe('The Programme.')
    expect(spelled('programmed', 'en-US')).toBe('programmed')
  })
  it('differ in each pair, begin alike, and name countries that can be chosen', () => {
    const known = LOCALES.map(([one]) => one.slice(3))
    for (const [from, to, where] of SPELLINGS) {
      expect(from).not.toBe(to)
      expect(from?.charAt(0)).toBe(to?.charAt(0))
      expect(known).toEqual(expect.arrayContaining(where?.split(' ') ?? ['none']))
      expect(where).not.toContain('GB')
    }
  })
  it('follow a change at once, also in lists that were made before', () => {
    expect([roleWord('coordinator'), programmeTabs('policy')[0]?.words]).toEqual([
      'Programme coordinator',
      'Programme',
    ])
    useLocale('en-US')
    expect([roleWord('coordinator'), programmeTabs('policy')[0]?.words]).toEqual([
      'Program coordinator',
      'Program',
    ])
  })
})

describe('dates in words', () => {
  it('begin with the month in the United States alone', () => {
    const read = () => [
      dateWords('2026-11-30'),
      dayWords('2026-11-30', now),
      dayWords('2025-03-04', now),
      moment('2026-11-24T14:20:00Z', now),
      moment('2025-11-24T14:20:00Z', now),
      stampWords('2026-11-29T14:20:00Z'),
      sinceWords('2026-11-24T14:20:00Z', now),
      spoken('Out since 2026-11-24 14:20, due 2027-01-05.', now),
      madeWords('2019-05'),
      madeWords('2019-05-01'),
    ]
    const other = [
      '30 Nov 2026',
      '30 Nov',
      '4 Mar 2025',
      'Tue 24 Nov 14:20',
      '24 Nov 2025 14:20',
      '29 Nov 2026 14:20',
      'since Tue 24 Nov',
      'Out since 24 Nov 14:20, due 5 Jan 2027.',
      'May 2019',
      '1 May 2019',
    ]
    for (const one of [...AS_BRITISH, 'en-CA', 'en-AU'] as const) {
      useLocale(one)
      expect(read()).toEqual(other)
    }
    useLocale('en-US')
    expect(read()).toEqual([
      'Nov 30, 2026',
      'Nov 30',
      'Mar 4, 2025',
      'Tue Nov 24 14:20',
      'Nov 24, 2025 14:20',
      'Nov 29, 2026 14:20',
      'since Tue Nov 24',
      'Out since Nov 24 14:20, due Jan 5, 2027.',
      'May 2019',
      'May 1, 2019',
    ])
  })
  it('leave what a program reads as it is', () => {
    useLocale('en-US')
    useZone('America/Denver')
    expect(dateIn(new Date('2026-12-01T05:00:00Z'))).toBe('2026-11-30')
  })
  it('are shown with each choice', () => {
    expect(LOCALES.map(([, words]) => words)).toContain('United States (program; Nov 30, 2026)')
    expect(LOCALES.map(([, words]) => words)).toContain('New Zealand (programme; 30 Nov 2026)')
  })
})
