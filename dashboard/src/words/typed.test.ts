import { describe, expect, it } from 'vitest'
import cases from './figures.cases.json'
import { plainly, readTyped, wantsSaying } from './typed'

const value = (text: string, bounds = {}) => {
  const read = readTyped(text, bounds)
  return read.is === 'read' ? read.value : read.is === 'open' ? read.ways : read.is
}

describe('a number that was typed', () => {
  it('is asked about where it can be meant in two ways, whichever sign stands in it', () => {
    for (const text of ['9,500', '9.500']) expect(value(text), text).toEqual(['9500', '9.5'])
    // Whichever is chosen can be read in one way alone.
    expect([value('9500'), value('9.5'), value('1.2340')]).toEqual([9500, 9.5, 1.234])
  })
  it.each([
    ['9,5', 9.5],
    ['0,4', 0.4],
    ['1,5', 1.5],
    ['48,90', 48.9],
    ['1 200', 1200],
    ['1\u202f200,5', 1200.5],
    ['12,345.6', 12345.6],
    ['0.400', 0.4],
    ['31 1/2', 31.5],
    ['7', 7],
  ])('%s is %s', (text, number) => expect(value(text)).toBe(number))
  it('never makes a number of a part of it', () => {
    for (const text of ['9..5', '9,5,', '1,5 pieces', '9500 psi', '-3', '1 2', 'x', '.', '4-5', '1e3'])
      expect(value(text), text).toBe('unreadable')
    expect(value('  ')).toBe('empty')
  })
  it('is read as a figure with its unit is', () => {
    for (const [text, number] of cases.read as [string, number, string][]) {
      const bare = text.replace(/\s*(?:[a-z]+|")$/, '')
      expect(value(bare), bare).toBe(number)
    }
  })
  it('keeps to the bounds of its field, and takes the one way of two that can stand there', () => {
    const whole = { least: 1, most: 100_000, whole: true }
    expect([value('1,200', whole), value('1.200', whole)]).toEqual([1200, 1200])
    expect(value('3,000', whole)).toEqual(['3000', '3'])
    expect(readTyped('1,5', whole)).toEqual({
      is: 'unreadable',
      words: 'Give a whole number from 1 to 100,000.',
    })
    expect(readTyped('1.5', { whole: true })).toMatchObject({ words: 'Give a whole number, for example 3.' })
    expect(readTyped('0', { least: 0.01 })).toMatchObject({ words: 'Give a number of at least 0.01.' })
    const degrees = { least: -180, most: 180 }
    expect([value('-104,99', degrees), value('39.742', degrees)]).toEqual([-104.99, 39.742])
    expect(value('-181', degrees)).toBe('unreadable')
  })
  it('is shown without rounding, and said where one may wonder', () => {
    expect([plainly(9500), plainly(9.5), plainly(0.0625)]).toEqual(['9,500', '9.5', '0.0625'])
    expect(['9,5', '1 200', '39.742', '9.5', '12'].map(wantsSaying)).toEqual([true, true, true, false, false])
  })
})
