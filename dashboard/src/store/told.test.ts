import { describe, expect, it } from 'vitest'
import type { Alert, Telling } from '@/api/types'
import { acknowledged, isBeyond, openOf, silent, unheard } from './told.svelte'

const telling = (receiver: string, more: Partial<Telling> = {}): Telling => ({
  receiver,
  name: `Desk ${receiver}`,
  way: 'webhook',
  member: null,
  state: 'taken',
  since: '2026-11-25T14:20:00Z',
  taken_at: null,
  problem: null,
  acknowledged: null,
  ...more,
})
const heard: Telling['acknowledged'] = {
  at: '2026-11-25T14:30:00Z',
  by: { id: null, name: 'Desk 3' },
  through: 'answer',
  note: null,
}
const alert = (id: string, revision: number, rig: string, told: Telling[]): Alert => ({
  id,
  revision,
  rig,
  change: 'rig_falls',
  at: `2026-11-25T14:${String(10 + revision).padStart(2, '0')}:00Z`,
  station: null,
  district: 'd',
  confirmed: null,
  confirmed_full: null,
  name: `Engine ${rig}`,
  before: 'full',
  after: 'limited',
  expected: null,
  full: null,
  min_full: null,
  reason: '',
  expected_back: null,
  told,
  rev: revision,
})

describe('what nobody has acknowledged', () => {
  it('stands by rig with its last change, and stays until the last telling is acknowledged', () => {
    const [a, b] = [alert('a', 1, '7', [telling('1')]), alert('b', 2, '7', [telling('1'), telling('2')])]
    const [one, ...more] = unheard([b, a])
    expect(more).toEqual([])
    expect(one).toMatchObject({ key: '7', last: b, all: [a, b], missed: false })
    expect(silent(one!).map((who) => who.id)).toEqual(['1', '2'])
    const half = alert('b', 2, '7', [telling('1', { acknowledged: heard }), telling('2')])
    expect(unheard([half])[0]?.last).toBe(half)
    expect(unheard([alert('b', 2, '7', [telling('1', { acknowledged: heard })])])).toEqual([])
  })
  it('says what became of it later where only an earlier change is open', () => {
    const [a, b] = [
      alert('a', 1, '7', [telling('1')]),
      alert('b', 2, '7', [telling('1', { acknowledged: heard })]),
    ]
    expect(unheard([a, b])[0]).toMatchObject({ last: a, all: [a], later: b })
  })
  it('puts first where somebody was not reached, then what fell, then the latest', () => {
    const list = [
      alert('a', 1, '1', [telling('1', { state: 'stopped' })]),
      alert('b', 2, '2', [telling('1')]),
      alert('c', 3, '3', [telling('1')]),
      { ...alert('d', 4, '4', [telling('1')]), change: 'rig_rises' as const },
    ]
    expect(unheard(list).map((one) => one.key)).toEqual(['1', '3', '2', '4'])
  })
  it('is closed for the phones of members by one that has seen it, and not for a desk outside', () => {
    const phone = (receiver: string, more: Partial<Telling> = {}) =>
      telling(receiver, { way: 'phone', member: receiver, ...more })
    const seen = { acknowledged: heard }
    const ids = (told: Telling[]) => openOf({ told }).map((one) => one.receiver)
    expect(ids([phone('1'), phone('2')])).toEqual(['1', '2'])
    expect(ids([phone('1', seen), phone('2')])).toEqual([])
    expect(ids([phone('1', seen), telling('3')])).toEqual(['3'])
    expect(ids([phone('1'), telling('3', seen)])).toEqual(['1'])
  })
  it('is for those who reach it: nobody is offered what the service would refuse', () => {
    const of = (station: string | null, district: string | null) => ({ station, district })
    const reaches = (who: ReturnType<typeof of>, what: ReturnType<typeof of>) => !isBeyond(who, what)
    expect(reaches(of(null, null), of('s', 'd'))).toBe(true)
    expect(reaches(of(null, 'd'), of('s', 'd'))).toBe(true)
    expect(reaches(of(null, 'e'), of('s', 'd'))).toBe(false)
    expect(reaches(of(null, 'e'), of(null, 'd'))).toBe(false)
    expect(reaches(of('s', 'd'), of('s', 'd'))).toBe(true)
    expect(reaches(of('t', 'd'), of('s', 'd'))).toBe(false)
    // What belongs to no station is within the reach of a member of one, as the service has it.
    expect(reaches(of('t', 'd'), of(null, 'd'))).toBe(true)
    expect(isBeyond(null, of('s', 'd'))).toBe(false)
  })
  it('is acknowledged for all who were told, or for one of them alone', () => {
    const list = [alert('a', 1, '7', [telling('1')]), alert('b', 2, '7', [telling('1'), telling('2')])]
    const [one] = unheard(list)
    expect(acknowledged(one!, '', ' by telephone ').map((write) => write.body)).toEqual([
      { id: 'a', receiver: null, note: 'by telephone' },
      { id: 'b', receiver: null, note: 'by telephone' },
    ])
    expect(acknowledged(one!, '2', '').map((write) => write.body)).toEqual([
      { id: 'b', receiver: '2', note: null },
    ])
  })
})
