import { describe, expect, it } from 'vitest'
import type { BoardRig } from './board'
import { runsOut } from './runs'

const now = new Date('2026-11-28T07:00:00Z')
const row = (name: string, holds_until: string | null, level = 'full', counted = true) =>
  ({
    rig: { name },
    standing: { holds_until, holds_until_why: `${name}’s date` },
    seen: { level, counted },
  }) as BoardRig

describe('what runs out next', () => {
  it('is by instant, the soonest first, with every rig that it is about', () => {
    const found = runsOut(
      [row('B', '2026-11-30T07:00:00Z'), row('A', '2026-11-29T07:00:00Z'), row('C', '2026-11-30T07:00:00Z')],
      7,
      now,
    )
    expect(found.map((one) => [one.at.slice(0, 10), one.rigs.map((r) => r.rig.name), one.why])).toEqual([
      ['2026-11-29', ['A'], 'A’s date'],
      ['2026-11-30', ['B', 'C'], 'B’s date'],
    ])
  })
  it('is nothing of a rig at none, of one that is not counted, of what is past or far', () => {
    const none = [
      row('a', '2026-11-29T07:00:00Z', 'none'),
      row('b', '2026-11-29T07:00:00Z', 'full', false),
      row('c', '2026-11-27T07:00:00Z'),
      row('d', '2026-12-29T07:00:00Z'),
      row('e', null),
    ]
    expect(runsOut(none, 7, now)).toEqual([])
  })
})
