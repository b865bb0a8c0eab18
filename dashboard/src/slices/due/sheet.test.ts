import { describe, expect, it } from 'vitest'
import type { DueAt, DueLine } from './due'
import type { Piece } from '@/api/types'
import { dueRows } from './sheet'

const piece = (tag: string) => ({ id: tag, tag, kind: 'hose' }) as Piece
const line = (due: DueLine['due'], ...tags: string[]): DueLine => ({
  ...{ key: 'k', due, count: tags.length },
  plans: [{ plan: 'w', name: 'Weekly', signer: 'officer', pieces: tags.map(piece) }],
})

describe('what is due, as a spreadsheet', () => {
  it('has a row for each check of a piece, and leaves empty what nobody knows', () => {
    const late = line(
      { state: 'at', at: '2026-11-27T08:00:00Z', counts_from: '2026-11-29T08:00:00Z', why: 'weekly' },
      'HO-1',
      'HO-2',
    )
    const unknown = line({ state: 'unknown', why: 'never checked' }, 'HO-3')
    const place = { key: 'r', name: 'Engine 10', rig: 'r', station: 's' }
    const dues: DueAt[] = [
      { place, late: [late], ahead: [], unknown: [unknown], counts: { late: 2, ahead: 0, unknown: 1 } },
    ]
    const names = { model: () => 'Model A', station: () => 'Station 10' }
    const [head, ...rows] = dueRows(dues, names, new Date('2026-11-28T22:00:00Z'))
    expect(rows.map((row) => row[2])).toEqual(['HO-1', 'HO-2', 'HO-3'])
    expect(rows.every((row) => row.length === head?.length)).toBe(true)
    expect(rows[0]?.slice(7)).toEqual(['overdue', '2026-11-27T08:00:00Z', '2026-11-29T08:00:00Z', 'weekly'])
    expect(rows[2]?.slice(7)).toEqual(['date not known', null, null, 'never checked'])
  })
})
