import { expect, it } from 'vitest'
import type { BenchOrder, Piece, Ticket } from '@/api/types'
import { ticketRows } from './sheet'

it('a ticket is a line with its piece, its wait in days and why it stands there', () => {
  const piece = { id: 'p', tag: 'CU-1', kind: 'cutter' } as Piece
  const names = {
    piece: (id: string) => (id === 'p' ? piece : undefined),
    model: () => 'Model',
    shop: () => 'Shop',
  }
  const ticket = (id: string, more: Partial<Ticket>) =>
    ({
      id,
      piece: 'p',
      shop: 's',
      what: 'Blade',
      state: 'open',
      ready_on: null,
      opened_at: '2026-11-20T06:00:00Z',
      sums: { cost: 88.5, unpriced: 0, minutes: 30 },
      ...more,
    }) as Ticket
  const order = {
    items: [{ ticket: 'a', standing: 'returns', returns: 1, words: 'Engine 1' }],
  } as unknown as BenchOrder
  const list = [
    ticket('a', { ready_on: '2026-12-01', cause: 'wear' }),
    ticket('b', { piece: 'gone', closed_at: '2026-11-21T06:00:00Z' }),
  ]
  const [head = [], ...body] = ticketRows(list, order, names, new Date('2026-11-29T18:00:00Z'))
  const of = (name: string) => body.map((line) => line[head.indexOf(name)])
  expect(body.every((line) => line.length === head.length)).toBe(true)
  expect(of('Tag')).toEqual(['CU-1', null])
  expect(of('Open, days')).toEqual([9.5, 1])
  expect(of('Counts as')).toEqual(['Restores a rig', null])
  expect(of('Ready by')).toEqual(['2026-12-01', null])
  expect(of('Came from')).toEqual(['Worn by use', null])
  expect(of('Cost so far')).toEqual([88.5, 88.5])
})
