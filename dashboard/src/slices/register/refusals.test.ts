import { expect, test } from 'vitest'
import type { ImportRun } from '@/api/types'
import { refusalsFile } from './refusals'

test('a refused row goes out with its cells and its reasons, and no formula', () => {
  const run = {
    columns: [{ column: 'Asset tag' }, { column: 'Length' }],
    refused: [{ line: 3, reason: '"8 in" is odd', hint: 'look again', also: ['Length: too long'] }],
    rows: [
      { line: 2, fate: 'new', tag: 'A', words: '' },
      { line: 3, fate: 'refused', tag: '=B', words: '', cells: ['=B', '8 in', 'extra'] },
      { line: 4, fate: 'refused', tag: 'C', words: '', cells: ['C'] },
    ],
  } as unknown as ImportRun
  expect(refusalsFile(run)).toBe(
    '\ufeff"Asset tag","Length","Why it was refused"\r\n' +
      '"\'=B","8 in","""8 in"" is odd; look again; Length: too long","extra"\r\n' +
      '"C","",""\r\n',
  )
})
