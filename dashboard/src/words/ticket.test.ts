import { expect, it } from 'vitest'
import type { Ticket } from '@/api/types'
import { holdWords, promiseWords } from './ticket'

const ticket = (more: object) => ({ state: 'working', promise: null, expected_on: null, ...more }) as Ticket
const now = new Date('2026-11-29T12:00:00Z')
const promise = { on: '2026-12-07', first: '2026-12-03', moved: 1, by: { id: null, name: 'M' }, at: '' }

it('says until when, that the day is past, and what was promised first', () => {
  expect(promiseWords(ticket({}), now)).toBe('')
  expect(promiseWords(ticket({ promise }), now)).toBe('ready by 7 Dec 2026; first promised 3 Dec 2026')
  const late = { ...promise, on: '2026-11-26', moved: 0 }
  expect(promiseWords(ticket({ promise: late }), now)).toBe('ready by 26 Nov 2026, that day is past')
  for (const state of ['tested', 'closed'])
    expect(promiseWords(ticket({ promise: late, state }), now)).toBe('')
})

it('says why it waits and for what exactly', () => {
  const waits = { state: 'on_hold', hold_reason: 'part', hold_for: 'seal kit', expected_on: '2026-12-05' }
  expect(holdWords(ticket(waits))).toBe('waits for a part: “seal kit”, expected 5 Dec 2026')
  expect(holdWords(ticket({ state: 'on_hold' }))).toBe('waits, no date given')
})
