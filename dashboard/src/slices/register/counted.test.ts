import { expect, it } from 'vitest'
import { countedWords } from './counted'

it('counts the rows of a file, and leaves out what there is none of', () => {
  const run = { accepted: 1, unchanged: 0, refused: [1], passed_over: [] }
  expect(countedWords(run, false)).toBe('1 row would be taken in, 1 refused')
  expect(countedWords({ ...run, accepted: 295, unchanged: 4, passed_over: [1, 2] }, false)).toBe(
    '295 rows would be taken in, 4 already there, 1 refused, 2 passed over',
  )
  expect(countedWords({ accepted: 2, unchanged: 0, refused: [] }, true)).toBe('2 rows taken in, 0 refused')
})
