import { describe, expect, it } from 'vitest'
import type { Capability, Kind, Model, Piece, Slot } from '@/api/types'
import { layout, layoutSmall, rowsOf, wrap } from '@/ui/picture/layout'
import { hookupOf, hookupSentences, type Known } from './hookup'

const slot = (id: string, name: string, kind: Kind, need: Slot['need'] = 'required'): Slot => ({
  id,
  name,
  kinds: [kind],
  need,
  minimums: {},
})
const SLOTS = [
  slot('pump', 'Power unit', 'power_unit', 'core'),
  slot('hose-1', 'Hose 1', 'hose'),
  slot('hose-2', 'Hose 2', 'hose'),
  slot('cutter', 'Cutter', 'cutter'),
  slot('ram', 'Ram', 'ram'),
  slot('support', 'Ram support', 'accessory', 'optional'),
]
const KINDS: Record<string, Kind> = {
  p: 'power_unit',
  h1: 'hose',
  h2: 'hose',
  c: 'cutter',
  r: 'ram',
  e: 'combination_tool',
  b: 'battery',
  s: 'accessory',
}
const known: Known = {
  piece: (id) =>
    ({
      id,
      rev: 1,
      tag: id.toUpperCase(),
      kind: KINDS[id],
      model: `m-${id}`,
      state: id === 'r' ? 'out_of_service' : 'in_service',
      state_reason: 'leaks',
      place: { at: 'rig', rig: 'x' },
    }) as Piece,
  model: (id) =>
    ({
      id,
      rev: 1,
      name: id,
      kind: 'hose',
      ratings: {},
      hookup: { coupling: 'one', battery: id === 'm-e' ? '28V' : null },
    }) as Model,
}
const base: Capability = {
  known: true,
  pending: false,
  planned: false,
  rig_name: 'Rig',
  id: 'x',
  rev: 1,
  level: 'full',
  since: '',
  simultaneous: 2,
  simultaneous_min: 2,
  critical: [],
  fillings: [],
  gaps: [],
  restore: [],
  also: [],
}
const via = { source: 'p', hose: 'h1' }
const full: Capability = {
  ...base,
  critical: ['c'],
  fillings: [
    { slot: 'pump', piece: 'p' },
    { slot: 'hose-1', piece: 'h1' },
    { slot: 'hose-2', piece: 'h2' },
    { slot: 'cutter', piece: 'c', via },
    { slot: 'ram', piece: 'r', via },
    { slot: 'support', piece: 's' },
  ],
}

describe('the hook-up', () => {
  it('joins two tools to one hose, keeps the idle hose capped, and puts small gear below', () => {
    const model = hookupOf(SLOTS, full, known)
    expect(model.groups).toHaveLength(1)
    expect(model.groups[0]?.leads.map((l) => [l.line?.sub, l.ends.map((e) => e.title)])).toEqual([
      ['H1', ['Cutter', 'Ram']],
      ['H2', []],
    ])
    expect(model.tray.map((t) => t.sub)).toEqual(['S'])
    expect(model.groups[0]?.leads[0]?.ends[0]?.critical).toBe(true)
  })
  it('draws a gap as an open end with the reason of the nearest miss', () => {
    const near = [
      {
        piece: 'r',
        code: 'out-of-service' as const,
        words: 'ram R: out of service',
        since: '2026-11-25T10:00:00Z',
      },
    ]
    const fillings = full.fillings.map((f) => (f.slot === 'ram' ? { slot: 'ram', piece: null } : f))
    const gaps = [{ slot: 'ram', need: 'required' as const, words: ['no usable ram'], near }]
    const model = hookupOf(SLOTS, { ...full, fillings, gaps }, known)
    const open = model.groups.at(-1)
    expect(open?.source).toBeNull()
    expect(open?.leads[0]?.ends[0]).toMatchObject({
      open: true,
      title: 'Ram',
      why: expect.stringMatching(/^R out of service since .*: leaks$/),
    })
    expect(hookupSentences(model).join(' ')).toMatch(/Ram is an open end: R out of service/)
  })
  it('hangs sound hoses on the place of the missing power unit', () => {
    const fillings = [
      { slot: 'pump', piece: null },
      { slot: 'hose-1', piece: 'h1' },
    ]
    const gaps = [{ slot: 'pump', need: 'core' as const, words: ['no power unit aboard'], near: [] }]
    const model = hookupOf(SLOTS, { ...base, level: 'none', fillings, gaps }, known)
    expect(model.groups[0]?.source?.open).toBe(true)
    expect(model.groups[0]?.leads.map((l) => l.line?.sub)).toEqual(['H1'])
    expect(hookupSentences(model)).toContain('Hose 1 H1 is aboard, but nothing feeds it.')
  })
  it('shows sound pieces that join to nothing by their tags', () => {
    const fillings = ['pump', 'hose-1', 'cutter'].map((slot) => ({ slot, piece: null }))
    const miss = (piece: string) => [
      {
        piece,
        code: 'no-source' as const,
        words: `${KINDS[piece]} ${piece.toUpperCase()}: no power source to drive it`,
      },
    ]
    const gaps = [
      { slot: 'pump', need: 'core' as const, words: ['no power unit aboard'], near: [] },
      { slot: 'hose-1', need: 'core' as const, words: [], near: miss('h1') },
      { slot: 'cutter', need: 'core' as const, words: [], near: miss('c') },
    ]
    const model = hookupOf(SLOTS, { ...base, level: 'none', fillings, gaps }, known)
    expect(model.groups[0]?.leads.map((l) => [l.line?.title, l.line?.sub])).toEqual([['Hose 1', 'H1']])
    expect(model.groups[1]?.leads[0]?.ends[0]).toMatchObject({
      open: true,
      sub: 'C',
      why: 'no power source to drive it',
    })
  })
  it('gives a battery tool its pack, or says that the pack stays with the tool', () => {
    const slots = [slot('combi', 'Combination tool', 'combination_tool')]
    const own = hookupOf(slots, { ...base, fillings: [{ slot: 'combi', piece: 'e', via: null }] }, known)
    expect(own.groups[0]?.source?.title).toBe('Pack with tool')
    const pack = hookupOf(
      slots,
      { ...base, fillings: [{ slot: 'combi', piece: 'e', via: { battery: 'b' } }] },
      known,
    )
    expect(pack.groups[0]?.source?.sub).toBe('B')
  })
  it('is empty, not wrong, while nothing is computed', () => {
    expect(hookupOf(SLOTS, undefined, known)).toEqual({ groups: [], tray: [] })
  })
})

describe('its layout', () => {
  const model = hookupOf(SLOTS, full, known)
  it('gives every end and every idle line a row of its own', () => {
    const { rows, groups } = rowsOf(model)
    expect(rows).toBe(3)
    expect(groups[0]?.leads[0]?.ends.map((e) => e.row)).toEqual([0.5, 1.5])
    expect(groups[0]?.leads[1]?.row).toBe(2.5)
  })
  it.each([320, 390, 800, 1400])(
    'stays inside %i pixels, boxes high enough for a thumb and apart from each other',
    (width) => {
      const placed = layout(model, width)
      for (const box of placed.boxes) {
        expect(box.x).toBeGreaterThanOrEqual(0)
        expect(box.x + box.w).toBeLessThanOrEqual(width)
        expect(box.h).toBeGreaterThanOrEqual(48)
        expect(box.y).toBeGreaterThanOrEqual(0)
        expect(box.y + box.h).toBeLessThanOrEqual(placed.height)
      }
      const right = placed.boxes.filter((b) => b.x > 0).toSorted((a, b) => a.y - b.y)
      right
        .slice(1)
        .forEach((b, i) => expect(b.y).toBeGreaterThanOrEqual((right[i]?.y ?? 0) + (right[i]?.h ?? 0)))
    },
  )
  it('breaks words and shows where something was cut', () => {
    expect(wrap('out of service since Tuesday', 12, 2)).toEqual(['out of', 'service…'])
    expect(wrap('short', 12, 2)).toEqual(['short'])
    expect(wrap('Bezeichnungslang', 8, 1)).toEqual(['Bezeich…'])
  })
  it('fits the stamp of the board', () => {
    const small = layoutSmall(model)
    expect(small.height).toBeLessThanOrEqual(56)
    expect(small.ends).toHaveLength(2)
  })
})
