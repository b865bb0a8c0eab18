import { expect, it } from 'vitest'
import type { CheckDue, CheckPlan, Piece } from '@/api/types'
import { leftOf, nothingLeft } from './left'

const NOW = new Date('2026-11-28T15:00:00Z')
const at = (text: string): CheckDue => ({ state: 'at', at: text, why: 'weekly', counts_from: null })
const [LATE, TONIGHT, NEXT] = [
  at('2026-11-23T14:00:00Z'),
  at('2026-11-28T23:00:00Z'),
  at('2026-12-05T14:00:00Z'),
]
const piece = (id: string, state = 'in_service') => ({ id, tag: id, state }) as Piece
const plan = (state = 'in_force', name = 'Weekly') => ({ state, plan: { name } }) as CheckPlan

it('what is left on a rig after a check: what is due there, what is out, what nobody here knows', () => {
  const dues: Record<string, { plan: string; due: CheckDue }[]> = {
    a: [
      { plan: 'w', due: LATE },
      { plan: 'm', due: NEXT },
      { plan: 'gone', due: LATE },
    ],
    b: [
      { plan: 'w', due: TONIGHT },
      { plan: 'm', due: LATE },
    ],
    c: [],
    lost: [{ plan: 'w', due: LATE }],
  }
  const plans: Record<string, CheckPlan> = { w: plan(), m: plan(), gone: plan('withdrawn') }
  const facts = {
    duesOf: (id: string) => dues[id],
    planOf: (id: string) => plans[id],
    isOut: (one: Piece) => one.state === 'out_of_service',
    isDone: (key: string) => key === 'w/a',
  }
  const all = [piece('a'), piece('b'), piece('c', 'out_of_service'), piece('d'), piece('lost', 'missing')]
  const left = leftOf(all, facts, NOW)
  expect(left.due.map((one) => [one.plan, one.piece.id])).toEqual([
    ['m', 'b'],
    ['w', 'b'],
  ])
  expect([left.out.map((one) => one.id), left.unknown.map((one) => one.id)]).toEqual([['c'], ['d']])
  expect(nothingLeft(left)).toBe(false)
  expect(nothingLeft(leftOf([piece('a')], facts, NOW))).toBe(true)
  // The check of it that was not taken is still due.
  expect(leftOf([piece('a')], { ...facts, isDone: () => false }, NOW).due).toHaveLength(1)
})
