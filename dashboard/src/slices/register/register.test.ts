import { describe, expect, it } from 'vitest'
import type { Piece } from '@/api/types'
import { headings } from './headings'
import { search, sortRows, type Row } from './search'

const bytes = (text: string) => new TextEncoder().encode(text).buffer as ArrayBuffer
const row = (tag: string, kind: string, where: string): Row => ({
  piece: {
    id: tag,
    tag,
    kind,
    state: 'in_service',
    place: { at: 'rig', rig: 'r' },
    serial: null,
  } as unknown as Piece,
  kind,
  model: 'Model',
  where,
  state: 'In service',
  station: 's1',
})
const rows = [
  row('H-10', 'hose', 'On Engine 4'),
  row('H-9', 'hose', 'On Engine 5'),
  row('C-1', 'cutter', 'On Engine 4'),
]
const none = { text: '', kind: '', state: '', at: '', station: '' }

describe('the register', () => {
  it('finds by several words in any order, over tag, kind and place', () => {
    expect(search(rows, { ...none, text: 'engine 4 hose' }).map((r) => r.piece.tag)).toEqual(['H-10'])
    expect(search(rows, { ...none, kind: 'cutter' })).toHaveLength(1)
    expect(search(rows, { ...none, station: 's2' })).toEqual([])
  })
  it('sorts tags as people count', () => {
    expect(sortRows(rows, 'tag', false).map((r) => r.piece.tag)).toEqual(['C-1', 'H-9', 'H-10'])
    expect(sortRows(rows, 'tag', true)[0]?.piece.tag).toBe('H-10')
  })
})

describe('the headings of a file', () => {
  it('come out whatever sign parts the cells', () => {
    expect(headings(bytes('Asset tag,Kind,"Make, model"\nA,B,C'))).toEqual([
      'Asset tag',
      'Kind',
      'Make, model',
    ])
    expect(headings(bytes('\r\nTag;Kind;Rig\r\n1;2;3'))).toEqual(['Tag', 'Kind', 'Rig'])
    expect(headings(bytes('Tag\tKind'))).toEqual(['Tag', 'Kind'])
  })
})
