import { describe, expect, it } from 'vitest'
import type { Gap, Id, Kind, Model, Near, Piece, PieceState, Place, Slot, Swap, Via } from '@/api/types'
import { layout, nextSeat, rowsOf } from '@/ui/picture/layout'
import type { PictureModel } from '@/ui/picture/parts'
import { layoutSmall } from '@/ui/picture/small'
import { drawn, hookupOf, hookupSentences, telling, type Answer, type Known, type Rigged } from './hookup'

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
  slot('pack', 'Battery', 'battery'),
  slot('combi', 'Combination tool', 'combination_tool'),
  slot('support', 'Ram support', 'accessory', false),
]
const KINDS: Record<string, Kind> = {
  p: 'power_unit',
  h1: 'hose',
  h2: 'hose',
  h3: 'hose',
  a1: 'adapter',
  c: 'cutter',
  c2: 'cutter',
  r: 'ram',
  e: 'combination_tool',
  b: 'battery',
  s: 'accessory',
}
const HERE: Place = { at: 'rig', rig: 'x' }
const SHOP: Place = { at: 'shop', shop: 'y' }
const piece = (id: Id, place: Place = HERE, state: PieceState = 'in_service', home: Place = HERE) =>
  ({ id, rev: 1, tag: id.toUpperCase(), kind: KINDS[id], model: `m-${id}`, state, place, home }) as Piece
const ALL = ['p', 'h1', 'h2', 'c', 'r', 'b', 'e', 's']

const via: Via = { by: 'line', source: 'p', parts: ['h1'] }
const fill = (name: string, id: Id | null, by: Via | null = null) => ({ slot: name, piece: id, via: by })
const need = (id: string, one: Id, by: Via | null) => ({
  need: id,
  name: id,
  met: true,
  pieces: [{ piece: one, via: by }],
})
const gap = (id: string, kind: Kind, fields: Partial<Gap> = {}): Gap => ({
  in: 'slot',
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
const near = (id: Id, code: string) => ({ piece: id, code, words: `${id.toUpperCase()}: ${code}` }) as Near
const FULL: Answer = {
  critical: ['c'],
  gaps: [],
  needs: [need('cut', 'c', via), need('push', 'r', via)],
  fillings: [
    fill('pump', 'p'),
    fill('hose-1', 'h1'),
    fill('hose-2', 'h2'),
    fill('cutter', 'c', via),
    fill('ram', 'r', via),
    fill('pack', 'b'),
    fill('combi', 'e', { by: 'pack', pack: 'b' }),
    fill('support', 's'),
  ],
}
/** The answer without some of its slots. */
const without = (gone: string[], more: Partial<Answer> = {}): Answer => ({
  ...FULL,
  needs: [],
  critical: [],
  fillings: FULL.fillings.map((one) => (gone.includes(one.slot) ? fill(one.slot, null) : one)),
  ...more,
})

function known(pieces: Piece[]): Known {
  return {
    piece: (id) => pieces.find((one) => one.id === id),
    model: (id) => ({ id, hookup: {} }) as Model,
    trouble: (one) =>
      one.state === 'out_of_service'
        ? { state: 'out', mark: { shape: 'barred', tone: 'stop', word: 'Out of service' } }
        : undefined,
    whereabouts: (one) =>
      one.place.at === 'shop' ? { where: 'At County shop', when: 'expected 3 Dec' } : { where: 'Elsewhere' },
  }
}
function draw(answer: Answer | undefined, pieces = ALL.map((id) => piece(id)), more: Partial<Rigged> = {}) {
  return drawn({ rig: 'x', slots: SLOTS, answer, pieces, swaps: [], ...more }, known(pieces))
}
const changed = (id: Id, place: Place, state: PieceState = 'in_service', home: Place = HERE) =>
  ALL.map((one) => (one === id ? piece(id, place, state, home) : piece(one)))
const seat = (model: PictureModel, key: string) => model.seats.find((one) => one.key === key)

it('says of a piece aboard that it cannot be confirmed, and of one that is out only that', () => {
  const pieces = changed('h1', HERE, 'out_of_service')
  const { model } = drawn(
    { rig: 'x', slots: SLOTS, answer: FULL, pieces, swaps: [] },
    { ...known(pieces), unconfirmed: (id) => id === 'h1' || id === 'h2' },
  )
  expect(model.seats.filter((one) => one.why === 'Not confirmed').map((one) => one.key)).toEqual(['hose-2'])
})

describe('the seats of a hook-up', () => {
  const states: [string, PictureModel][] = [
    ['full', draw(FULL).model],
    [
      'the first hose failed, its slot filled by the second',
      draw(
        without(['hose-2'], {
          fillings: without(['hose-2']).fillings.map((one) =>
            one.slot === 'hose-1' ? fill('hose-1', 'h2') : one,
          ),
        }),
        changed('h1', HERE, 'out_of_service'),
      ).model,
    ],
    ['the pump at the shop', draw(without(['pump', 'cutter', 'ram']), changed('p', SHOP)).model],
    [
      'the cutter gone for good',
      draw(
        without(['cutter']),
        ALL.filter((id) => id !== 'c').map((id) => piece(id)),
      ).model,
    ],
    [
      'nothing aboard',
      draw({ ...FULL, needs: [], fillings: SLOTS.map(({ id }) => fill(id, null)) }, []).model,
    ],
    [
      'an adapter and a hose beyond the list',
      draw(
        { ...FULL, needs: [need('cut', 'c', { by: 'line', source: 'p', parts: ['h1', 'a1', 'h3'] })] },
        [...ALL, 'a1', 'h3'].map((id) => piece(id)),
      ).model,
    ],
    [
      'a grade that asks for more',
      draw({ ...FULL, gaps: [gap('spread', 'spreader', { in: 'need' })] }).model,
    ],
    ['out as a whole', draw(FULL, undefined, { struck: 'Rig out of service' }).model],
  ]
  it.each([320, 390, 800, 1400])('are where they are in every state, at %i pixels', (width) => {
    const places = states.map(([name, model]) => ({
      name,
      at: Object.fromEntries(
        layout(model, width)
          .boxes.filter((box) => !box.seat.extra)
          .map(({ seat: one, x, y, w, h }) => [one.key, `${x} ${y} ${w} ${h}`]),
      ),
    }))
    const field = places[0]?.at ?? {}
    expect(Object.keys(field).toSorted()).toEqual(SLOTS.map((one) => one.id).toSorted())
    for (const { name, at } of places) {
      // Small gear lies below the field, which is longer where something is beyond the list.
      const upper = Object.entries(at).filter(([key]) => key !== 'support')
      for (const [key, where] of upper)
        expect(`${name}: ${key} ${where}`).toBe(`${name}: ${key} ${field[key]}`)
    }
  })
  it('keep who sat there: a hose that failed, though the server counts the second one in its slot', () => {
    const [, model] = states[1] ?? []
    expect(model && seat(model, 'hose-1')).toMatchObject({ sub: 'H1', state: 'out' })
    expect(model && seat(model, 'hose-2')).toMatchObject({ sub: 'H2', state: 'counted' })
  })
  it('keep a long hose that the server counts as a short one that failed', () => {
    const slots = SLOTS.map((one) =>
      one.id === 'hose-2'
        ? { ...one, minimums: { hose_length: { value: 50, unit: 'ft' } } as Slot['minimums'] }
        : one,
    )
    const answer = without(['hose-2'], {
      fillings: without(['hose-2']).fillings.map((one) =>
        one.slot === 'hose-1' ? fill('hose-1', 'h2') : one,
      ),
      gaps: [
        gap('hose-2', 'hose', {
          near: [near('h1', 'out-of-service'), near('h1', 'minimum-not-met'), near('h2', 'needed-elsewhere')],
        }),
      ],
    })
    const { at } = draw(answer, changed('h1', HERE, 'out_of_service'), { slots })
    expect([at.get('hose-1'), at.get('hose-2')]).toEqual(['h1', 'h2'])
  })
  it('keep the second hose where it was when the first leaves for good', () => {
    const { at } = draw(FULL)
    const left = ALL.filter((id) => id !== 'h1').map((id) => piece(id))
    const after = draw(without(['hose-1']), left, { before: at })
    expect(after.at.get('hose-2')).toBe('h2')
    expect(seat(after.model, 'hose-1')).toMatchObject({ state: 'empty', why: 'Nothing assigned' })
  })
  it('give a stand-in the seat that it was put on, not the first by its tag', () => {
    const pieces = [...ALL.filter((id) => id !== 'h2').map((id) => piece(id)), piece('a1')]
    pieces.push(
      { ...piece('h3', HERE, 'in_service', { at: 'shelf', station: 's' }), tag: 'A-1' },
      piece('h2', SHOP),
    )
    const swap = { rig: 'x', piece: 'h3', slot: 'hose-2', stands_in_for: 'h2', state: 'open' } as Swap
    const fillings = FULL.fillings.map((one) =>
      one.slot === 'hose-1' ? fill('hose-1', 'h3') : one.slot === 'hose-2' ? fill('hose-2', 'h1') : one,
    )
    const { at } = draw({ ...FULL, fillings }, pieces, { swaps: [swap] })
    expect([at.get('hose-1'), at.get('hose-2')]).toEqual(['h1', 'h3'])
  })
})

describe('what sits on them', () => {
  it('joins what the server says drives what, through its hoses and packs', () => {
    expect(draw(FULL).model.joins).toEqual([
      { from: 'pump', to: 'hose-1', by: 'line' },
      { from: 'hose-1', to: 'cutter', by: 'line' },
      { from: 'hose-1', to: 'ram', by: 'line' },
      { from: 'pack', to: 'combi', by: 'pack' },
    ])
  })
  it('names each as a sentence', () => {
    const said = hookupSentences(draw(FULL).model)
    expect(said).toContain('Cutter C, in service, hooked to P by H1, critical.')
    expect(said).toContain('Combination tool E, in service, runs on B.')
    expect(said).toContain('Hose 1 H1, in service, hooked to P, leads to C, R.')
  })
  it('is tagged when it must not be used, a ghost when it is away, and nothing when nobody knows of any', () => {
    const out = draw(without(['cutter']), changed('c', HERE, 'out_of_service')).model
    expect(seat(out, 'cutter')).toMatchObject({ state: 'out', sub: 'C', mark: { word: 'Out of service' } })
    const away = draw(without(['cutter']), changed('c', SHOP)).model
    expect(seat(away, 'cutter')).toMatchObject({
      state: 'away',
      sub: 'C',
      why: 'At County shop',
      when: 'expected 3 Dec',
      name: 'Cutter C, not aboard, at County shop, expected 3 Dec',
    })
    const none = draw(
      without(['cutter']),
      ALL.filter((id) => id !== 'c').map((id) => piece(id)),
    ).model
    expect(seat(none, 'cutter')).toMatchObject({ state: 'empty', name: 'Cutter, nothing assigned' })
  })
  it('says why a sound piece does nothing', () => {
    const answer = without(['cutter'], {
      gaps: [gap('cutter', 'cutter', { near: [near('c', 'coupling-differs')] })],
    })
    expect(seat(draw(answer).model, 'cutter')).toMatchObject({ state: 'idle', why: 'coupling-differs' })
  })
  it('shows what the grade asks for and the list does not, at the end', () => {
    const more = [gap('spread', 'spreader', { in: 'need' }), gap('cut', 'cutter', { in: 'need' })]
    const { seats } = draw(without(['cutter'], { gaps: more })).model
    expect(seats.filter((one) => one.extra).map((one) => one.key)).toEqual(['need-spread'])
  })
  it('draws the pieces themselves where there is no list', () => {
    const { seats } = draw({ ...FULL, fillings: [] }, undefined, { slots: [] }).model
    expect(seats.map((one) => one.sub)).toEqual(['P', 'C', 'E', 'R', 'H1', 'H2', 'B', 'S'])
  })
  it('marks what is critical only where that tells one piece from another', () => {
    expect(telling(FULL)).toEqual(['c'])
    expect(telling({ ...FULL, critical: ['p', 'h1', 'c', 'r'] })).toEqual([])
  })
  it('is empty, not wrong, while nothing is computed', () => {
    const rigged = { rig: 'x', slots: SLOTS, answer: undefined, pieces: [], swaps: [] }
    expect(hookupOf(rigged, known([]))).toEqual({ seats: [], joins: [], struck: undefined })
  })
})

describe('its layout', () => {
  const hoses = Array.from({ length: 10 }, (_, i) => slot(`h-${i}`, `Hose ${i}`, 'hose'))
  const tools = Array.from({ length: 8 }, (_, i) => slot(`t-${i}`, `Tool ${i}`, 'cutter'))
  const twenty = [
    slot('p1', 'Power unit 1', 'power_unit'),
    slot('b1', 'Battery', 'battery'),
    ...hoses,
    ...tools,
  ]
  const models = [
    draw(FULL).model,
    draw({ ...FULL, needs: [], fillings: [] }, [], { slots: twenty }).model,
    draw({ ...FULL, fillings: [] }, undefined, { slots: [] }).model,
  ]
  it.each([
    [300, 1],
    [326, 1],
    [326, 2],
    [800, 1],
    [800, 2],
    [1400, 1],
  ])(
    'keeps every seat inside, apart, and wide enough for a thumb at %i pixels and text of %i',
    (width, scale) => {
      for (const model of models) {
        const { boxes, height } = layout(model, width, scale)
        expect(boxes).toHaveLength(model.seats.length)
        for (const [i, one] of boxes.entries()) {
          expect(one.x).toBeGreaterThanOrEqual(0)
          expect(one.x + one.w).toBeLessThanOrEqual(width + 0.01)
          expect(one.y).toBeGreaterThanOrEqual(0)
          expect(one.y + one.h).toBeLessThanOrEqual(height + 0.01)
          expect(Math.min(one.w, one.h)).toBeGreaterThanOrEqual(48)
          for (const other of boxes.slice(i + 1)) {
            const apart =
              one.x + one.w <= other.x ||
              other.x + other.w <= one.x ||
              one.y + one.h <= other.y ||
              other.y + other.h <= one.y
            expect(apart, `${one.seat.key} and ${other.seat.key}`).toBe(true)
          }
        }
      }
    },
  )
  it('gives packs the lowest rows, where no hose stands between them and their tools', () => {
    const { cells } = rowsOf(draw(FULL).model)
    const row = (key: string) => cells.find((cell) => cell.seat.key === key)?.row ?? 0
    expect(row('pack')).toBeGreaterThan(Math.max(row('pump'), row('hose-1'), row('hose-2')))
  })
  it('is walked by arrow keys, and stays where there is nothing further', () => {
    const { boxes } = layout(draw(FULL).model, 800)
    expect(nextSeat(boxes, 'pump', 'ArrowRight')).toMatch(/^hose/)
    expect(nextSeat(boxes, 'cutter', 'ArrowDown')).toBe('ram')
    expect(nextSeat(boxes, 'cutter', 'ArrowRight')).toBe('cutter')
    expect(nextSeat(boxes, 'pump', 'ArrowLeft')).toBe('pump')
  })
  it('fits the stamp of the board, with the same seats', () => {
    for (const model of models) {
      const small = layoutSmall(model)
      expect(small.height).toBeLessThanOrEqual(56.01)
      expect(small.seats).toHaveLength(model.seats.filter((one) => one.zone !== 'gear').length)
    }
    const out = layoutSmall(draw(without(['cutter']), changed('c', HERE, 'out_of_service')).model)
    expect(out.seats.filter((one) => one.look === 'barred')).toHaveLength(1)
  })
})
