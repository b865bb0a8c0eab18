import { describe, expect, it } from 'vitest'
import type { CheckDue, Piece, PlanDue } from '@/api/types'
import { duesBy, headWords, type Place } from './due'

const NOW = new Date('2026-11-28T22:00:00Z')
const piece = (tag: string) => ({ id: tag, tag }) as Piece
const place = (name: string): Place => ({ key: name, name, rig: name, station: 's' })
const day = (days: number, grace: number | null = 2): CheckDue => ({
  state: 'at',
  at: new Date(NOW.getTime() + days * 86_400_000).toISOString(),
  counts_from: grace === null ? null : new Date(NOW.getTime() + (days + grace) * 86_400_000).toISOString(),
  why: 'weekly',
})
const by = (dues: Record<string, [plan: string, due: CheckDue][]>) => (id: string) =>
  (dues[id] ?? []).map(([plan, due]): PlanDue => ({ plan, name: `Check ${plan}`, due }))

describe('what is due, by place', () => {
  const engine = { place: place('Engine 10'), pieces: [piece('HO-2'), piece('HO-1'), piece('CU-1')] }
  const rescue = { place: place('Rescue 9'), pieces: [piece('RM-1')] }
  it('stands in one line where it is due together and counts as long, pieces by tag', () => {
    const [one] = duesBy(
      [engine],
      by({ 'HO-2': [['w', day(-3)]], 'HO-1': [['w', day(-3)]], 'CU-1': [['w', day(-3, 5)]] }),
      () => 'member',
      NOW,
    )
    expect(one?.late.map((line) => line.plans.map((plan) => plan.pieces.map((p) => p.tag)))).toEqual([
      [['HO-1', 'HO-2']],
      [['CU-1']],
    ])
    expect(one?.counts).toEqual({ late: 3, ahead: 0, unknown: 0 })
  })
  it('leaves out what is further ahead than a week and what only a use makes due', () => {
    expect(
      duesBy(
        [engine],
        by({ 'HO-1': [['w', day(7.1)]], 'HO-2': [['u', { state: 'not_yet', why: 'a use' }]] }),
        () => 'member',
        NOW,
      ),
    ).toEqual([])
    expect(duesBy([engine], by({ 'HO-1': [['w', day(6.9)]] }), () => 'member', NOW)).toHaveLength(1)
  })
  it('shows what nobody knows apart, never as nothing', () => {
    const [one] = duesBy(
      [rescue],
      by({ 'RM-1': [['a', { state: 'unknown', why: 'no date' }]] }),
      () => 'technician',
      NOW,
    )
    expect(one?.counts).toEqual({ late: 0, ahead: 0, unknown: 1 })
    expect(one?.unknown[0]?.plans[0]?.signer).toBe('technician')
  })
  it('begins with what is late longest', () => {
    const all = duesBy(
      [engine, rescue],
      by({ 'HO-1': [['w', day(1)]], 'RM-1': [['w', day(-9)]] }),
      () => 'member',
      NOW,
    )
    expect(all.map((one) => one.place.name)).toEqual(['Rescue 9', 'Engine 10'])
    expect(headWords(all)).toBe('1 check overdue, 1 due in the next 7 days')
    expect(headWords(all.slice(1))).toBe('1 check due in the next 7 days')
    expect(headWords([])).toBe('Nothing is due')
  })
})
