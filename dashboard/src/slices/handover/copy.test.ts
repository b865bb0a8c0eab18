import { describe, expect, it } from 'vitest'
import { cut, leftOut, packed } from './copy'

describe('the copy of a handover', () => {
  it('keeps headings and lines as they were read', () => {
    const parts = [
      { title: 'Reported (1)', lines: ['CU-1 leaks at the handle'] },
      { title: 'Used', lines: ['No use was written down.'] },
    ]
    expect(cut(parts)).toEqual(parts.map((part) => ({ ...part, left_out: 0 })))
    expect(leftOut(cut(parts))).toBe(0)
  })

  it('says how many lines are not in it', () => {
    const many = cut([{ title: 'Reported (75)', lines: Array.from({ length: 75 }, (_, n) => `line ${n}`) }])
    expect([many[0]?.lines.length, many[0]?.left_out, leftOut(many)]).toEqual([60, 15, 15])
    const long = cut(
      ['A', 'B'].map((title) => ({ title, lines: Array.from({ length: 60 }, () => 'y'.repeat(480)) })),
    )
    const kept = long.flatMap((part) => part.lines)
    expect(kept.length + leftOut(long)).toBe(120)
    expect(kept.join('').length).toBeLessThanOrEqual(38_000)
    expect(long.map((part) => part.title)).toEqual(['A', 'B'])
  })

  it('ends a line that is too long with a sign that it goes on', () => {
    const line = cut([{ title: 'x', lines: ['y'.repeat(600)] }])[0]?.lines[0]
    expect([line?.length, line?.endsWith('…')]).toEqual([500, true])
  })

  it('keeps what stands under a line with that line, and never cuts it', () => {
    expect(packed('Engine 25 none', [])).toEqual(['Engine 25 none'])
    expect(packed('Engine 25 none', ['no cutter', 'list incomplete'])).toEqual([
      'Engine 25 none: no cutter. list incomplete',
    ])
    const long = packed('Engine 25', ['y'.repeat(300), 'z'.repeat(300), 'x'])
    expect(long).toEqual([`Engine 25: ${'y'.repeat(300)}`, `Engine 25: ${'z'.repeat(300)}. x`])
  })
})
