import { describe, expect, it } from 'vitest'
import type { Kind } from '@/api/types'
import { cautionsFor, type DrivenBy } from './cautions'
import { KIND_LIST } from './piece'

const titles = (kind: Kind, by: DrivenBy = 'hose') => cautionsFor(kind, by).map((c) => c.title)
const said = (kind: Kind, by: DrivenBy = 'hose') =>
  cautionsFor(kind, by)
    .map((c) => `${c.title} ${c.text}`)
    .join(' ')

/** What each kind must say at least, by the usual safety sheets. */
const MUST: [Kind, DrivenBy, RegExp[]][] = [
  [
    'cutter',
    'hose',
    [
      /injection/i,
      /dump the pressure/i,
      /closes/,
      /parts fly/i,
      /airbag/,
      /tensioner/,
      /high-voltage/,
      /crib/,
      /blood/i,
    ],
  ],
  [
    'spreader',
    'hose',
    [
      /injection/i,
      /dump the pressure/i,
      /closes/,
      /parts fly/i,
      /no stand/,
      /chains/,
      /high voltage/i,
      /blood/i,
    ],
  ],
  [
    'combination_tool',
    'battery',
    [/injection/i, /closes/, /airbag/, /high voltage/i, /packs/i, /charger/, /crib/, /blood/i],
  ],
  ['ram', 'hose', [/injection/i, /both ends/, /in line/, /crib/, /blood/i]],
  [
    'power_unit',
    'hose',
    [/injection/i, /dump the pressure/i, /exhaust/i, /hot parts/i, /fuel/, /phosphate ester/],
  ],
  ['hand_pump', 'hose', [/injection/i, /dump the pressure/i, /stroke/, /phosphate ester/]],
  ['hose', 'hose', [/injection/i, /kinked/, /unknown date/, /dump the pressure/i, /by its hose/]],
  ['adapter', 'hose', [/injection/i, /locked at both ends/i, /dump the pressure/i]],
  ['battery', 'battery', [/swollen/, /never opened/, /cold/]],
  ['charger', 'battery', [/belongs to the pack/]],
  ['accessory', 'unknown', [/label/, /blood/i]],
]

describe('cautions', () => {
  it('stand at every kind, and end with who may operate it and what comes before them', () => {
    expect(MUST.map(([kind]) => kind).toSorted()).toEqual(KIND_LIST.toSorted())
    for (const kind of KIND_LIST) {
      expect(titles(kind).at(-1)).toBe('Trained members only')
      expect(said(kind)).toMatch(/maker’s manual and local orders come before/)
    }
  })
  it.each(MUST)('of a %s driven by %s are whole', (kind, by, all) => {
    for (const one of all) expect(said(kind, by)).toMatch(one)
  })
  it('of a tool whose hook-up is not known are those of both drives', () => {
    expect(said('cutter', 'unknown')).toMatch(/dump the pressure/i)
    expect(said('cutter', 'unknown')).toMatch(/swollen/)
    expect(said('cutter', 'hose')).not.toMatch(/swollen/)
  })
  it('of chains are those of the line of pull', () =>
    expect(cautionsFor('accessory', 'unknown', 'chains').map((c) => c.title)).toContain(
      'Only the rated chains of the set',
    ))
  it('are each said once', () => {
    for (const kind of KIND_LIST)
      expect(new Set(titles(kind, 'unknown')).size).toBe(titles(kind, 'unknown').length)
  })
})
