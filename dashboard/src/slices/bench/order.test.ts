import { describe, expect, it } from 'vitest'
import type { BenchOrder, Ticket } from '@/api/types'
import { inOrder, standingMark } from './order'

const ticket = (id: string, opened_at: string) => ({ id, opened_at }) as Ticket
const order = (...ids: string[]): BenchOrder => ({
  revision: 1,
  at: '',
  by: 'demand',
  items: ids.map((id) => ({ ticket: id, standing: 'returns', returns: 1, words: '' })),
})
const old = ticket('old', '2026-11-01T00:00:00Z')
const mid = ticket('mid', '2026-11-02T00:00:00Z')
const fresh = ticket('new', '2026-11-03T00:00:00Z')

describe('the order of the bench', () => {
  it('is the server’s where there is one', () => {
    expect(inOrder([old, mid, fresh], order('new', 'old', 'mid')).map((t) => t.id)).toEqual([
      'new',
      'old',
      'mid',
    ])
  })
  it('puts what is not ranked yet last, oldest first', () => {
    expect(inOrder([fresh, mid, old], order('mid')).map((t) => t.id)).toEqual(['mid', 'old', 'new'])
  })
  it('is by age without one', () => {
    expect(inOrder([fresh, old, mid], null).map((t) => t.id)).toEqual(['old', 'mid', 'new'])
  })
  it('says the standing as a word, also where there is none', () => {
    expect(standingMark(order('a').items[0]).word).toBe('Restores a rig')
    expect(standingMark(undefined).word).toBe('Not ranked yet')
  })
})
