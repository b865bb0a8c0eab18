import { describe, expect, it } from 'vitest'
import cases from './figures.cases.json'
import { readQuantity, readRating, typedRating } from './figures'
import { exactly } from './typed'

const value = (text: string) => {
  const read = readRating(text, 'cutter_opening')
  return read.is === 'read' ? [read.rating.value, read.rating.unit] : read.is
}

describe('a figure is read as the register file’s is', () => {
  it.each(cases.read as [string, number, string][])('%s', (text, number, unit) =>
    expect(value(text)).toEqual([number, unit]),
  )
  it.each(cases.refused)('%s is not read', (text) => expect(value(text)).toBe('unreadable'))
  it.each(cases.open as [string, number, number][])('%s is asked about', (text, grouped, decimal) => {
    const read = readRating(text, 'cutter_opening')
    if (read.is !== 'open') throw new Error(read.is)
    // Whichever is chosen can be read in one way alone.
    expect(read.ways.map((way) => value(way)?.[0])).toEqual([grouped, decimal])
  })
})

it('keeps the standard behind the figure, also when its number is asked about', () => {
  expect(readRating('8.1 in [NFPA 1936; 2015]', 'cutter_opening')).toEqual({
    is: 'read',
    rating: { value: 8.1, unit: 'in', standard: 'NFPA 1936', edition: '2015' },
  })
  expect(readRating('10,500 lbf [NFPA 1936]', 'push_force')).toEqual({
    is: 'open',
    ways: ['10500 lbf [NFPA 1936]', '10.5 lbf [NFPA 1936]'],
  })
  expect(readRating('8.1 in [NFPA', 'cutter_opening').is).toBe('unreadable')
})
it('reads the short forms for cutting, and stages without a unit', () => {
  expect(readRating('a8 b9 c8 d9 e9 [NFPA 1936; 2015]', 'cutting_levels')).toEqual({
    is: 'read',
    rating: { levels: 'A8/B9/C8/D9/E9', standard: 'NFPA 1936', edition: '2015' },
  })
  expect(readRating('A8/B9', 'cutting_levels').is).toBe('unreadable')
  expect(readRating('h', 'cutting_capacity')).toEqual({ is: 'read', rating: { letter: 'H' } })
  expect(readRating('L', 'cutting_capacity').is).toBe('unreadable')
  expect(readRating('2', 'ram_stages')).toEqual({ is: 'read', rating: { value: 2, unit: 'stages' } })
})
it('takes no torque for a force, no pound of weight either, and no ton at all', () => {
  for (const text of ['90 ft-lb', '14,300 lb', '3 t', '3 tons'])
    expect(readQuantity(text, 'force').is).toBe('unreadable')
  expect(readQuantity('90 ft-lb', 'force')).toEqual({
    is: 'unreadable',
    words: '“ft-lb” is not a unit of a force. Write it in lbf, kN, N.',
  })
  expect(readQuantity('41.5 lbs', 'mass')).toEqual({ is: 'read', rating: { value: 41.5, unit: 'lb' } })
  expect(readQuantity('  ', 'force')).toEqual({ is: 'empty' })
})
it('writes what is on record so that it reads back', () => {
  const rating = { value: 1.234, unit: 'm', standard: 'EN 13204', edition: '2016' }
  expect(exactly(1.234)).toBe('1.2340')
  expect(readRating(typedRating(rating), 'stroke')).toEqual({ is: 'read', rating })
  expect(typedRating({ letter: 'H' })).toBe('H')
})
