import { describe, expect, it } from 'vitest'
import type { Defect, Piece, Place, Rig, Swap, Ticket, Use } from '@/api/types'
import { handover, together, type Facts } from './handover'

const since = '2026-11-27T19:00:00.000000Z'
const night = '2026-11-28T02:00:00.000000Z'
const before = '2026-11-20T02:00:00.000000Z'
const on = (rig: string): Place => ({ at: 'rig', rig })
const piece = (id: string, place: Place, more: Partial<Piece> = {}) =>
  ({ id, tag: id, place, home: null, state: 'in_service', state_since: before, ...more }) as Piece
const facts = (more: Partial<Facts>): Facts => ({
  ...{ pieces: [], defects: [], tickets: [], swaps: [], uses: [], rigs: [] },
  ofRig: (rig) => rig === 'mine',
  ofPlace: (place) => place?.at === 'rig' && place.rig === 'mine',
  ...more,
})
const defect = (id: string, of: string, seen_at: string, severity = 'out_of_service') =>
  ({ id, piece: of, seen_at, severity, state: 'open' }) as Defect
const ids = (list: readonly { id: string }[]) => list.map((one) => one.id)

describe('a handover', () => {
  it('tells what changed since, here, and nothing of before or elsewhere', () => {
    const sheet = handover(
      facts({
        pieces: [
          // Out by the report that stands above it: not said twice.
          piece('a', on('mine'), { state_since: night, state: 'out_of_service' }),
          piece('e', on('mine'), { state_since: night, state: 'out_of_service' }),
          piece('b', on('other'), { state_since: night }),
          piece('c', on('mine')),
        ],
        defects: [defect('d1', 'a', night), defect('d2', 'b', night), defect('d3', 'c', before, 'usable')],
        uses: [
          { id: 'u1', rig: 'mine', used_at: night, pieces: ['a'] },
          { id: 'u2', rig: 'mine', used_at: before, pieces: ['a'] },
          { id: 'u3', rig: 'mine', used_at: night, pieces: [] },
        ] as unknown as Use[],
      }),
      since,
    )
    expect(ids(sheet.turned)).toEqual(['e'])
    expect(ids(sheet.defects)).toEqual(['d1'])
    expect(ids(sheet.limits)).toEqual(['d3'])
    expect(ids(sheet.uses)).toEqual(['u1'])
  })
  it('tells what is promised by its day, and what is ready to be fetched', () => {
    const home = on('mine')
    const sheet = handover(
      facts({
        pieces: [
          piece('a', { at: 'shop', shop: 's' }, { home }),
          piece('b', { at: 'vendor', name: 'V', due_on: '2026-12-01' } as Place, { home }),
          piece('c', { at: 'shop', shop: 's' }, { home }),
          piece('d', { at: 'transit', to: on('mine') } as Place),
          piece('e', { at: 'shop', shop: 's' }, { home: on('other') }),
          // Returned to service, and still at the shop.
          piece('f', { at: 'shop', shop: 's' }, { home }),
          piece('g', { at: 'shop', shop: 's' }, { home, state: 'out_of_service' }),
          piece('h', on('other'), { home }),
        ],
        tickets: [
          { id: 't1', piece: 'a', state: 'on_hold', ready_on: '2026-12-05' },
          { id: 't2', piece: 'c', state: 'tested' },
          { id: 't3', piece: 'e', state: 'tested' },
          { id: 't4', piece: 'c', state: 'closed', ready_on: '2026-11-01' },
        ] as Ticket[],
        swaps: [
          { id: 's1', rig: 'mine', state: 'open', started_at: before },
          { id: 's2', rig: 'mine', state: 'ended', started_at: before, ended_at: night },
          { id: 's3', rig: 'other', piece: 'h', state: 'open', started_at: before },
          { id: 's4', rig: 'other', piece: 'e', state: 'open', started_at: before },
        ] as Swap[],
      }),
      since,
    )
    expect(sheet.promised.map((one) => [one.piece.id, one.on])).toEqual([
      ['b', '2026-12-01'],
      ['a', '2026-12-05'],
    ])
    expect(sheet.ready.map((one) => [one.piece.id, one.ticket?.id])).toEqual([
      ['c', 't2'],
      ['f', undefined],
    ])
    expect(ids(sheet.lent)).toEqual(['s3'])
    expect(ids(sheet.coming)).toEqual(['d'])
    expect(ids(sheet.standIns)).toEqual(['s1'])
    expect(ids(sheet.swaps)).toEqual(['s2'])
  })
  it('puts what runs out at one instant on one line', () => {
    const run = (id: string, at: string) => ({ rig: { id } as Rig, at, why: `why ${id}` })
    const lines = together([
      run('a', '2026-12-02T08:00:00Z'),
      run('b', night),
      run('c', '2026-12-02T08:00:00Z'),
    ])
    expect(lines.map((line) => [line.at, ids(line.rigs), line.why])).toEqual([
      [night, ['b'], 'why b'],
      ['2026-12-02T08:00:00Z', ['a', 'c'], 'why a'],
    ])
  })
})
