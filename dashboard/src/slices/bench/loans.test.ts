import { expect, it } from 'vitest'
import type { Piece } from '@/api/types'
import { loansOf } from './loans'

const piece = (tag: string, place: unknown, more: object = {}) =>
  ({ tag, state: 'in_service', place, lent_by: null, ...more }) as unknown as Piece
const shelf = { at: 'shelf', station: 's' }

it('lists what is lent out, borrowed and outside, overdue first and without a day last', () => {
  const list = loansOf(
    [
      piece('A', { at: 'loan', name: 'Neighbour' }),
      piece('B', shelf, { lent_by: { name: 'Dealer', due_on: '2026-12-04' } }),
      piece('C', { at: 'vendor', name: 'Works', due_on: '2026-11-20' }),
      piece('D', shelf),
      piece('E', { at: 'loan', name: 'Neighbour', due_on: '2026-11-29' }),
      piece('F', shelf, { state: 'retired', lent_by: { name: 'Dealer', due_on: '2026-01-01' } }),
    ],
    '2026-11-29',
  )
  expect(list.map((one) => [one.piece.tag, one.way, one.overdue])).toEqual([
    ['C', 'vendor', true],
    ['E', 'out', false],
    ['B', 'in', false],
    ['A', 'out', false],
  ])
})
