import { afterEach, describe, expect, it, vi } from 'vitest'
import { wire } from '@/api/client'
import type { Defect, Piece, PieceStanding, Place, Session } from '@/api/types'
import { Elsewhere, elsewhere, houseOf, markThere, stoppedThere, withWaiting } from './elsewhere.svelte'
import { session } from './session.svelte'

const rig = { id: 'r', name: 'Engine 9', station: 's9' }
const piece = {
  id: 'p',
  tag: 'CU-9',
  kind: 'cutter',
  state: 'in_service',
  place: { at: 'rig', rig: 'r' },
  allows: ['defect.report'],
} as unknown as Piece
const standing = (more: object = {}) =>
  ({
    id: 'p',
    verdict: 'yes',
    reasons: [],
    holds_until: null,
    pending: false,
    known: true,
    ...more,
  }) as unknown as PieceStanding
const defect = (id: string) => ({ id, piece: 'p', state: 'open' }) as unknown as Defect

/** What the server answers, by address; anything else gets no answer. */
function answers(by: Record<string, unknown>) {
  vi.spyOn(wire, 'any').mockImplementation(
    (_, path: string) =>
      Promise.resolve(
        path in by
          ? { ok: true, data: by[path] }
          : { ok: false, problem: { code: 'no-connection', title: 'No connection', status: 0 } },
      ) as never,
  )
}
const ALL = {
  '/v1/pieces/p': piece,
  '/v1/defects': { items: [defect('d1')] },
  '/v1/piece-standings/p': standing(),
  '/v1/rigs/r': rig,
  '/v1/rig-standings/r': { id: 'r', level: 'limited', holds_until: null, pending: false, known: true },
  '/v1/stations/s9': { id: 's9', name: 'Station 9' },
}
afterEach(() => void vi.restoreAllMocks())

describe('a piece of another house', () => {
  it('is fetched with its rig, that rig’s level, its open defects and its station', async () => {
    answers(ALL)
    const one = new Elsewhere('p')
    await one.fetch()
    expect(one.piece?.tag).toBe('CU-9')
    expect(one.defects.map(({ id }) => id)).toEqual(['d1'])
    expect(one.house).toBe('Station 9')
    expect(one.where(one.piece?.place)).toBe('On Engine 9')
    expect(one.seenRig).toMatchObject({ level: 'limited', counted: true, lowered: false })
    expect(one.problem).toBeNull()
    expect(one.at).not.toBeNull()
  })
  it('says no level where none came, and none of before', async () => {
    answers(ALL)
    const one = new Elsewhere('p')
    await one.fetch()
    answers({ '/v1/pieces/p': piece, '/v1/rigs/r': rig })
    await one.fetch()
    expect(one.seenRig.level).toBeUndefined()
    expect(one.standing).toBeNull()
  })
  it('keeps what was answered where the signal ends, and says so', async () => {
    answers(ALL)
    const one = new Elsewhere('p')
    await one.fetch()
    const { at } = one
    answers({})
    await one.fetch()
    expect(one.piece?.tag).toBe('CU-9')
    expect(one.at).toBe(at)
    expect(one.problem?.code).toBe('no-connection')
    expect(one.asking).toBe(false)
  })
  it('is the same for each screen, and another member starts from nothing', () => {
    session.current = { member: { id: 'm1' }, device: null } as unknown as Session
    const mine = elsewhere('p')
    expect(elsewhere('p')).toBe(mine)
    session.current = { member: { id: 'm2' }, device: null } as unknown as Session
    expect(elsewhere('p')).not.toBe(mine)
    session.current = null
  })
})

describe('the house whose officer is told', () => {
  it('is that of the rig, of the shelf, or of where it goes', () => {
    expect(houseOf({ at: 'rig', rig: 'r' } as Place, rig)).toBe('s9')
    expect(houseOf({ at: 'shelf', station: 's2' } as Place, null)).toBe('s2')
    expect(houseOf({ at: 'transit', to: { at: 'rig', rig: 'r' } } as unknown as Place, rig)).toBe('s9')
  })
  it('is not guessed', () => {
    expect(houseOf({ at: 'rig', rig: 'other' } as Place, rig)).toBeNull()
    expect(houseOf({ at: 'shop', shop: 'x' } as Place, rig)).toBeNull()
    expect(houseOf(null, rig)).toBeNull()
  })
})

describe('what is said of it', () => {
  it('is the server’s answer, and never better', () => {
    expect(markThere(piece, standing()).word).toBe('Usable, records say')
    expect(markThere(piece, standing({ verdict: 'no' })).word).toBe('Do not use')
    expect(markThere(piece, standing({ pending: true })).word).toBe('Usable, records say, not counted yet')
    expect(markThere(piece, null).word).toBe('Not known yet')
    expect(stoppedThere(piece, standing())).toBe(false)
    expect(stoppedThere(piece, standing({ verdict: 'no' }))).toBe(true)
    expect(stoppedThere({ ...piece, state: 'out_of_service' }, standing())).toBe(true)
  })
  it('has what waits on this phone beside what was answered, once', () => {
    const both = withWaiting([defect('d1'), defect('d2')], [defect('d2'), defect('d3')])
    expect(both.map(({ id }) => id)).toEqual(['d1', 'd2', 'd3'])
  })
})
