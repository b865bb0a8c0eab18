import { expect, it } from 'vitest'
import {
  askMark,
  askWords,
  coversWords,
  inForceFirst,
  isDone,
  later,
  markOf,
  names,
  openWords,
  progressWords,
} from './notice'

it('says in words what a notice asks', () => {
  expect(askWords({ do: 'stop_use' })).toBe('Stop use')
  expect(askWords({ do: 'limit', words: 'Below 200 bar.' })).toBe('Use only like this: “Below 200 bar”')
  expect(askWords({ do: 'inspect_by', by: '2027-01-31' })).toBe('Inspect by 31 Jan 2027')
  expect(askMark({ action: { do: 'stop_use' }, withdrawn_at: '2026-11-01T00:00:00Z' }).word).toBe('Withdrawn')
})

it('counts what is done, and never hides what was not found', () => {
  expect(progressWords({ pieces: 12, open: 5, not_found: 2 })).toBe('7 of 12 done, 2 not found')
  expect(progressWords({ pieces: 1, open: 1, not_found: 0 })).toBe('0 of 1 done')
  expect(progressWords({ pieces: 3, open: 0, not_found: 0 })).toBe('All 3 done')
  expect(progressWords({ pieces: 0, open: 0, not_found: 0 })).toBe('No piece in the register is affected')
  expect(openWords({ pieces: 12, open: 5, not_found: 2 })).toBe('5 of 12 pieces open, 2 of them not found')
  expect(openWords({ pieces: 3, open: 0, not_found: 0 })).toBe('Nothing open')
})

it('leaves what was found or not found open', () => {
  expect(markOf({ state: 'not_found' }).word).toMatch(/stays open/)
  expect(
    [null, 'found', 'not_found', 'done', 'not_affected'].map((s) => isDone(s ? { state: s as never } : null)),
  ).toEqual([false, false, false, true, true])
  expect(markOf(null).word).toBe('Nobody has looked yet')
})

it('names the pieces that it covers', () => {
  expect(coversWords({ models: ['m'], serials: [], made_from: null, made_to: null })).toEqual([
    'Every serial number',
    'Whenever it was made',
  ])
  expect(
    coversWords({
      models: ['m'],
      serials: [
        { from: 'KX-1', to: 'KX-9' },
        { from: 'A1', to: 'A1' },
      ],
      made_from: '2020-01-01',
      made_to: null,
    }),
  ).toEqual(['Serial numbers KX-1 to KX-9', 'Serial number A1', 'Made on 1 Jan 2020 or later'])
})

it('puts what is in force first, the newest of it on top', () => {
  const one = (id: string, since: string, withdrawn_at: string | null = null) => ({ id, since, withdrawn_at })
  const all = [
    one('gone', '2026-11-20T00:00:00Z', '2026-11-21T00:00:00Z'),
    one('old', '2026-01-01T00:00:00Z'),
    one('new', '2026-10-01T00:00:00Z'),
    one('gone later', '2026-01-01T00:00:00Z', '2026-11-22T00:00:00Z'),
  ]
  expect(inForceFirst(all).map((n) => n.id)).toEqual(['new', 'old', 'gone later', 'gone'])
})

it('takes a notice as named only where the answer names its number and title', () => {
  const notice = { number: '24-7', title: 'handle may stick' }
  const reason = (words: string) => ({
    holds_until_why: null,
    reasons: [{ code: 'stop-use' as const, words, piece: 'p', since: null }],
  })
  expect(names(reason('cutter CU-1: stop use since 2026-11-01, notice 24-7: handle may stick'), notice)).toBe(
    true,
  )
  expect(names(reason('stop use, notice 124-7: handle may stick'), notice)).toBe(false)
  expect(names(reason('stop use, notice 24-7: another'), notice)).toBe(false)
  expect(
    names(
      { reasons: [], holds_until_why: 'inspection by notice 24-7: handle may stick of cutter CU-1 due' },
      notice,
    ),
  ).toBe(true)
  expect(names(undefined, notice)).toBe(false)
})

it('takes the later of two marks', () => {
  const [a, b] = [{ at: '2026-11-01T00:00:00Z' }, { at: '2026-11-02T00:00:00Z' }]
  expect([later(a, b), later(b, a), later(a, null), later(null, b), later(null, null)]).toEqual([
    b,
    b,
    a,
    b,
    null,
  ])
})
