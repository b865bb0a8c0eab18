import { describe, expect, it } from 'vitest'
import type { Gap, Kind, Model, Near, Piece, RigStanding, Slot, Via } from '@/api/types'
import { layout, layoutSmall, rowsOf, wrap } from '@/ui/picture/layout'
import { hookupOf, hookupSentences, telling, type Known } from './hookup'

const slot = (id: string, name: string, kind: Kind, required = true): Slot => ({
  id,
  name,
  kinds: [kind],
  required,
  minimums: {},
})
const SLOTS = [
  slot('pump', 'Power unit', 'power_unit'),
  slot('hose-1', 'Hose 1', 'hose'),
  slot('hose-2', 'Hose 2', 'hose'),
  slot('cutter', 'Cutter', 'cutter'),
  slot('ram', 'Ram', 'ram'),
  slot('support', 'Ram support', 'accessory', false),
]
const KINDS: Record<string, Kind> = {
  p: 'power_unit',
  h1: 'hose',
  h2: 'hose',
  h3: 'hose',
  a1: 'adapter',
  a2: 'adapter',
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
  model: (id) => ({ id, hookup: { coupling: 'one' } }) as Model,
}
const base: Pick<RigStanding, 'needs' | 'fillings' | 'gaps' | 'critical' | 'margin'> = {
  margin: 0,
  critical: [],
  needs: [],
  fillings: [],
  gaps: [],
}
const via: Via = { by: 'line', source: 'p', parts: ['h1'] }
const need = (id: string, piece: string, by: Via | null) => ({
  need: id,
  name: id,
  met: true,
  pieces: [{ piece, via: by }],
})
const fill = (name: string, piece: string | null, by: Via | null = null) => ({ slot: name, piece, via: by })
const gap = (id: string, kind: Kind, fields: Partial<Gap> = {}): Gap => ({
  in: 'need',
  id,
  name: id,
  required: true,
  kinds: [kind],
  words: [`no ${kind} aboard`],
  near: [],
  compete: null,
  runs_again: null,
  ...fields,
})
const full = {
  ...base,
  critical: ['c'],
  needs: [need('cut', 'c', via), need('push', 'r', via)],
  fillings: [
    fill('pump', 'p'),
    fill('hose-1', 'h1'),
    fill('hose-2', 'h2'),
    fill('cutter', 'c', via),
    fill('ram', 'r', via),
    fill('support', 's'),
  ],
}

describe('the hook-up', () => {
  it('joins two tools to one line, keeps the idle hose capped, and puts small gear below', () => {
    const model = hookupOf(SLOTS, full, known)
    expect(model.groups).toHaveLength(1)
    expect(model.groups[0]?.leads.map((l) => [l.line.map((p) => p.sub), l.ends.map((e) => e.title)])).toEqual(
      [
        [['H1'], ['Cutter', 'Ram']],
        [['H2'], []],
      ],
    )
    expect(model.tray.map((t) => t.sub)).toEqual(['S'])
    expect(model.groups[0]?.leads[0]?.ends[0]?.critical).toBe(true)
  })
  it('draws a line of five parts in their order, and says it', () => {
    const long: Via = { by: 'line', source: 'p', parts: ['h1', 'a1', 'h2', 'a2', 'h3'] }
    const model = hookupOf([], { ...base, needs: [need('cut', 'c', long)] }, known)
    expect(model.groups[0]?.leads[0]?.line.map((p) => p.sub)).toEqual(['H1', 'A1', 'H2', 'A2', 'H3'])
    expect(hookupSentences(model)).toEqual([
      'Power unit P feeds Cutter C through Hose H1, then Adapter A1, then Hose H2, then Adapter A2, then Hose H3.',
    ])
  })
  it('draws a gap as an open end with the reason of the nearest miss', () => {
    const near = [
      {
        piece: 'r',
        code: 'out-of-service',
        words: 'ram R: out of service',
        since: '2026-11-25T10:00:00Z',
      },
    ] as Near[]
    const model = hookupOf(
      SLOTS,
      {
        ...full,
        needs: [need('cut', 'c', via)],
        fillings: [fill('pump', 'p')],
        gaps: [gap('Ram', 'ram', { near })],
      },
      known,
    )
    expect(model.groups.at(-1)?.source).toBeNull()
    expect(model.groups.at(-1)?.leads[0]?.ends[0]).toMatchObject({
      open: true,
      title: 'Ram',
      why: expect.stringMatching(/^R out of service since .*: “leaks”$/),
    })
    expect(hookupSentences(model).join(' ')).toMatch(/Ram is an open end: R out of service/)
  })
  it('draws a kind that a need and the list both miss once, and no gap for what is optional', () => {
    const gaps = [
      gap('Ram', 'ram'),
      gap('ram', 'ram', { in: 'slot' }),
      gap('spare', 'hose', { in: 'slot', required: false }),
    ]
    const model = hookupOf(SLOTS, { ...base, gaps }, known)
    expect(model.groups.flatMap((g) => g.leads.flatMap((l) => l.ends.map((e) => e.title)))).toEqual(['Ram'])
  })
  it('hangs sound hoses on the place of the missing power unit', () => {
    const model = hookupOf(
      SLOTS,
      { ...base, fillings: [fill('hose-1', 'h1')], gaps: [gap('Power unit', 'power_unit', { in: 'slot' })] },
      known,
    )
    expect(model.groups[0]?.source?.open).toBe(true)
    expect(model.groups[0]?.leads.map((l) => l.line.map((p) => p.sub))).toEqual([['H1']])
    expect(hookupSentences(model)).toContain('Hose 1 H1 is aboard, but nothing feeds it.')
  })
  it('shows a sound piece that joins to nothing by its tag', () => {
    const near = [{ piece: 'c', code: 'no-source', words: 'cutter C: no power source to drive it' }] as Near[]
    const model = hookupOf(SLOTS, { ...base, gaps: [gap('Cutter', 'cutter', { near })] }, known)
    expect(model.groups[0]?.leads[0]?.ends[0]).toMatchObject({
      open: true,
      sub: 'C',
      why: 'no power source to drive it',
    })
  })
  it('gives a battery tool its pack, or says that the pack stays with the tool', () => {
    const own = hookupOf([], { ...base, needs: [need('open', 'e', { by: 'own_pack' })] }, known)
    expect(own.groups[0]?.source?.title).toBe('Pack with tool')
    expect(hookupSentences(own)).toEqual(['Combination tool E runs on its own pack.'])
    const pack = hookupOf([], { ...base, needs: [need('open', 'e', { by: 'pack', pack: 'b' })] }, known)
    expect(pack.groups[0]?.source?.sub).toBe('B')
  })
  it('marks what is critical only where that tells one piece from another', () => {
    expect(telling(full)).toEqual(['c'])
    expect(telling({ ...full, critical: ['p', 'h1', 'c', 'r'] })).toEqual([])
  })
  it('is empty, not wrong, while nothing is computed', () => {
    expect(hookupOf(SLOTS, undefined, known)).toEqual({ groups: [], tray: [] })
  })
})

describe('its layout', () => {
  const model = hookupOf(SLOTS, full, known)
  const long = hookupOf(
    [],
    {
      ...base,
      needs: [need('cut', 'c', { by: 'line', source: 'p', parts: ['h1', 'a1', 'h2', 'a2', 'h3'] })],
    },
    known,
  )
  it('gives every end and every idle line a row of its own', () => {
    const { rows, groups } = rowsOf(model)
    expect(rows).toBe(3)
    expect(groups[0]?.leads[0]?.ends.map((e) => e.row)).toEqual([0.5, 1.5])
    expect(groups[0]?.leads[1]?.row).toBe(2.5)
  })
  it.each([320, 390, 800, 1400])(
    'stays inside %i pixels, boxes high enough for a thumb and apart from each other',
    (width) => {
      for (const one of [model, long]) {
        const placed = layout(one, width)
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
      }
    },
  )
  it.each([320, 390, 800, 1400])(
    'keeps the five labels of a long line apart and inside at %i pixels',
    (width) => {
      const { labels, height } = layout(long, width)
      expect(labels).toHaveLength(5)
      for (const [i, one] of labels.entries()) {
        expect(one.text).not.toBe('')
        expect(one.y - one.h / 2).toBeGreaterThanOrEqual(0)
        expect(one.y + one.h / 2).toBeLessThanOrEqual(height)
        for (const other of labels.slice(i + 1)) {
          const apart = Math.abs(one.x - other.x) >= one.w - 0.5 || Math.abs(one.y - other.y) >= one.h - 0.5
          expect(apart).toBe(true)
        }
      }
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
