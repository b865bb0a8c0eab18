import { expect, it } from 'vitest'
import type { AnyRecord, Defect, DefectNote, Piece, Rig, Swap, Use } from '@/api/types'
import { lay } from './overlay'

const piece = {
  id: 'p',
  rev: 3,
  tag: 'AB-1',
  state: 'in_service',
  notices: [],
  place: { at: 'rig', rig: 'r' },
}
const base: Record<string, AnyRecord> = {
  'piece/p': piece,
  'rig/r': { id: 'r', rev: 1, station: 's', in_service: true },
  'defect/d': { id: 'd', rev: 1, piece: 'p', seen_again: 1 },
  'use/u': { id: 'u', rev: 4, rig: 'r', pieces: ['p', 'q'], minutes: 30, corrected: null },
}
const act = (kind: string, body: Record<string, unknown>, by?: string) => ({
  command: {
    id: 'c',
    kind,
    at: '2026-11-25T14:00:00Z',
    body,
    ...(by && { by: { member: by.toLowerCase(), check: '', signature: '' } }),
  },
  owner: 'ann',
  ownerName: 'Ann',
  by,
  queued_at: 0,
})
const laid = (...acts: ReturnType<typeof act>[]) => lay(acts, (kind, id) => base[`${kind}/${id}`])
const get = <T>(result: ReturnType<typeof lay>, kind: string, id: string) =>
  result.records.get(kind)?.get(id) as T | undefined

it('a queued defect shows on its piece, which is out of service at once, and no answer about the rig is made up', () => {
  const result = laid(
    act(
      'defect.report',
      { id: 'n', piece: 'p', what: 'Leak', class: 'leak', severity: 'out_of_service' },
      'Bea',
    ),
  )
  expect(get<Defect>(result, 'defect', 'n')).toMatchObject({
    what: 'Leak',
    class: 'leak',
    state: 'open',
    reported_by: { id: 'bea', name: 'Bea' },
  })
  expect(get<Piece>(result, 'piece', 'p')).toMatchObject({
    state: 'out_of_service',
    state_reason: 'Leak',
    rev: 3,
  })
  expect(result.records.has('rig_standing')).toBe(false)
  expect(result.records.has('piece_standing')).toBe(false)
  expect(piece.state).toBe('in_service')
})
it('a usable one leaves the piece in service and marks it', () => {
  const result = laid(act('defect.report', { id: 'n', piece: 'p', what: 'Scratch', severity: 'usable' }))
  expect(get<Piece>(result, 'piece', 'p')?.state).toBe('in_service')
  expect(result.marks).toContain('piece/p')
})
it('a return to service is never shown ahead', () => {
  base['piece/p'] = { ...piece, state: 'out_of_service' }
  const result = laid(act('piece.return', { id: 'p', note: 'Tried' }))
  base['piece/p'] = piece
  expect(get<Piece>(result, 'piece', 'p')).toBeUndefined()
  expect(result.marks).toContain('piece/p')
})
it('out for planned service is told apart until something is found', () => {
  const planned = act('piece.take_out', { id: 'p', reason: 'Annual service', planned: true })
  expect(get<Piece>(laid(planned), 'piece', 'p')?.planned).toBe(true)
  const found = act('defect.report', { id: 'n', piece: 'p', what: 'Leak', severity: 'out_of_service' })
  expect(get<Piece>(laid(planned, found), 'piece', 'p')?.planned).toBe(false)
  expect(get<Piece>(laid(found, planned), 'piece', 'p')?.planned).toBe(false)
  expect(
    get<Rig>(laid(act('rig.take_out', { id: 'r', reason: 'x', planned: true })), 'rig', 'r'),
  ).toMatchObject({
    planned: true,
    in_service: false,
  })
})
it('acts build on each other in their order', () => {
  const result = laid(
    act('swap.start', { id: 'w', piece: 'p', rig: 'x', on_the_way: true }),
    act('piece.arrive', { id: 'p' }),
    act('piece.take_out', { id: 'p', reason: 'Dropped' }),
  )
  expect(get<Swap>(result, 'swap', 'w')).toMatchObject({ from: { at: 'rig', rig: 'r' }, state: 'open' })
  expect(get<Piece>(result, 'piece', 'p')).toMatchObject({
    place: { at: 'rig', rig: 'x' },
    state_reason: 'Dropped',
  })
})
it('an act on something that this phone does not keep does no harm', () => {
  const result = laid(
    act('piece.take_out', { id: 'gone', reason: 'x' }),
    act('future.kind', { id: 'p', rig: 'r' }),
  )
  expect(result.records.size).toBe(0)
  expect(result.marks).toContain('rig/r')
})
it('a note joins the defect with its photos', () => {
  const result = laid(act('defect.note', { id: 'd', text: 'Worse', photos: ['sha'] }))
  expect(get<Defect>(result, 'defect', 'd')?.seen_again).toBe(2)
  expect(get<DefectNote>(result, 'defect_note', 'c')).toMatchObject({
    defect: 'd',
    text: 'Worse',
    by: { id: 'ann', name: 'Ann' },
    photos: ['sha'],
  })
})
it('a worse note makes the defect worse and takes the piece out; nothing makes one better', () => {
  const result = laid(act('defect.note', { id: 'd', text: 'Worse', severity: 'out_of_service' }))
  expect(get<Defect>(result, 'defect', 'd')?.severity).toBe('out_of_service')
  expect(get<Piece>(result, 'piece', 'p')?.state).toBe('out_of_service')
  const better = laid(act('defect.note', { id: 'd', text: 'Better', severity: 'usable' }))
  expect(get<Piece>(better, 'piece', 'p')).toBeUndefined()
})
it('a piece that nobody can find is missing where it was, and found only when the server says so', () => {
  const missing = laid(act('piece.report_missing', { id: 'p', note: 'Not in its place' }))
  expect(get<Piece>(missing, 'piece', 'p')).toMatchObject({
    state: 'missing',
    place: { at: 'rig', rig: 'r' },
  })
  expect(get<Piece>(laid(act('piece.found', { id: 'p', note: 'x' })), 'piece', 'p')).toBeUndefined()
})

it('a piece that was looked for for a notice shows it, and no clearing is shown ahead', () => {
  const seen = laid(act('notice.seek', { id: 'n', piece: 'p', found: false, note: 'Not in the box' }, 'Bea'))
  expect(get<Piece>(seen, 'piece', 'p')?.notices).toEqual([
    {
      notice: 'n',
      state: 'not_found',
      at: '2026-11-25T14:00:00Z',
      by: { id: 'bea', name: 'Bea' },
      words: 'Not in the box',
      photos: [],
    },
  ])
  const cleared = laid(act('notice.clear', { id: 'n', piece: 'p', not_affected: false, evidence: 'Done' }))
  expect(get<Piece>(cleared, 'piece', 'p')).toBeUndefined()
  expect(cleared.marks.has('piece/p')).toBe(true)
})
it('a queued correction of a use shows what it says, and what the server had stays beneath', () => {
  const result = laid(act('use.correct', { id: 'u', pieces: ['q'], minutes: null, reason: 'Only the ram' }))
  expect(get<Use>(result, 'use', 'u')).toMatchObject({
    pieces: ['q'],
    minutes: null,
    corrected: { by: { id: 'ann', name: 'Ann' }, reason: 'Only the ram' },
    rev: 4,
  })
  expect(result.marks.has('use/u')).toBe(true)
  expect(result.records.has('piece')).toBe(false)
})
