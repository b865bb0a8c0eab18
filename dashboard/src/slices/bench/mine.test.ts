import { describe, expect, it } from 'vitest'
import type { Defect, Piece, Ticket } from '@/api/types'
import { unsent } from './mine'

const piece = (id: string, state: Piece['state']) => ({ id, state }) as Piece
const defect = (id: string, severity: Defect['severity'], seen_at: string) =>
  ({ id, severity, seen_at }) as Defect
const DEFECTS: Record<string, Defect[]> = {
  a: [defect('a2', 'out_of_service', '2026-11-03'), defect('a1', 'out_of_service', '2026-11-02')],
  b: [defect('b1', 'out_of_service', '2026-11-01')],
  c: [defect('c1', 'usable', '2026-11-01')],
  d: [defect('d1', 'out_of_service', '2026-10-01')],
}

describe('what was reported and has no ticket', () => {
  const of = (id: string) => DEFECTS[id] ?? []
  it('is what is out of service for a defect, the longest wait first', () => {
    const all = ['a', 'b', 'c', 'e'].map((id) => piece(id, 'out_of_service'))
    expect(unsent(all, of, () => undefined).map((one) => [one.piece.id, one.defect.id])).toEqual([
      ['b', 'b1'],
      ['a', 'a1'],
    ])
  })
  it('is neither what has a ticket nor what is in service', () => {
    const all = [piece('b', 'out_of_service'), piece('d', 'in_service')]
    expect(unsent(all, of, (id) => (id === 'b' ? ({} as Ticket) : undefined))).toEqual([])
  })
})
