import { describe, expect, it } from 'vitest'
import type { Board, Piece, RigLine, Ticket } from '@/api/types'
import { deskMark, inOrder, isStale, keyIn, promised, sentences, STALE_AFTER, troubleWords } from './desk'

const rig = (over: Partial<RigLine>) => ({ level: 'full', known: true, out: null, ...over }) as RigLine

describe('what a desk reads', () => {
  it('shows a level only where it is settled and the rig runs', () => {
    expect(deskMark(rig({})).word).toBe('Full')
    expect(deskMark(rig({ known: false })).word).toBe('Not known')
    expect(deskMark(rig({ out: 'mechanic' as RigLine['out'] })).word).toBe('Out of service')
    expect(deskMark(rig({ out: 'mechanic' as RigLine['out'], known: false })).word).toBe('Out of service')
  })
  it('is out of date before the first answer and a minute after the last', () => {
    expect(isStale(null, 0)).toBe(true)
    expect(isStale(1000, 1000 + STALE_AFTER)).toBe(false)
    expect(isStale(1000, 1001 + STALE_AFTER)).toBe(true)
  })
  it('takes a key and nothing else from the address', () => {
    expect(keyIn('#fsk_0123456789abcdef')).toBe('fsk_0123456789abcdef')
    expect(keyIn('#fsk_0123456789abcdef<script>')).toBe('')
    expect(keyIn('#help')).toBe('')
    expect(keyIn('')).toBe('')
  })
  it('names what the shop has promised of the rig, and nothing without a day', () => {
    const piece = (id: string, tag: string, of = 'r1') =>
      ({ id, tag, kind: 'cutter', home: { at: 'rig', rig: of } }) as unknown as Piece
    const ticket = (of: string, day: string | null) =>
      ({ piece: of, expected_on: day, ready_on: day }) as unknown as Ticket
    const out = [piece('a', 'CU-1'), piece('b', 'CU-2'), piece('c', 'CU-3', 'r2'), piece('d', 'CU-4')]
    const tickets = [
      ticket('a', '2026-12-04'),
      ticket('b', '2026-12-01'),
      ticket('c', '2026-12-01'),
      ticket('d', null),
    ]
    expect(promised('r1', out, tickets)).toEqual(['cutter CU-2 on 1 Dec 2026', 'cutter CU-1 on 4 Dec 2026'])
  })
  it('puts a district that falls short first', () => {
    const districts = [
      { name: 'East', short: false },
      { name: 'West', short: true },
      { name: 'North', short: true },
    ]
    expect(inOrder({ districts } as Board).map((one) => one.name)).toEqual(['North', 'West', 'East'])
  })
  it('says at most two reasons, as sentences', () => {
    expect(sentences(['no ram aboard', 'a cut hose.', 'more'])).toBe('No ram aboard. A cut hose.')
    expect(sentences([])).toBe('')
  })
  it('says what a refused key means', () => {
    expect(troubleWords(401)).toContain('another')
    expect(troubleWords(null)).toContain('not reached')
    expect(troubleWords(503)).toContain('503')
  })
})
