import { expect, test } from 'vitest'
import { nextOf } from './walk'

const cell = (set: string, period: number, district: string | null) => ({ set, period, district })
const shown = [
  cell('a', 0, 'north'),
  cell('b', 0, 'south'),
  cell('c', 2, 'south'),
  cell('d', 5, 'north'),
  cell('e', 5, null),
]
const columns = ['north', 'south']
const to = (set: string, arrow: Parameters<typeof nextOf>[3]) =>
  nextOf(shown, columns, shown.find((one) => one.set === set) ?? cell('?', 0, null), arrow)?.set

test('up and down stay in the district, over empty weeks', () => {
  expect(to('a', 'ArrowDown')).toBe('d')
  expect(to('d', 'ArrowUp')).toBe('a')
  expect(to('c', 'ArrowUp')).toBe('b')
})
test('sideways goes through the week, then on to the next one', () => {
  expect(to('a', 'ArrowRight')).toBe('b')
  expect(to('b', 'ArrowRight')).toBe('c')
  expect(to('d', 'ArrowRight')).toBe('e')
  expect(to('d', 'ArrowLeft')).toBe('c')
})
test('at the edge there is nowhere to go', () => {
  expect(to('a', 'ArrowLeft')).toBeUndefined()
  expect(to('e', 'ArrowRight')).toBeUndefined()
  expect(to('e', 'ArrowDown')).toBeUndefined()
})
