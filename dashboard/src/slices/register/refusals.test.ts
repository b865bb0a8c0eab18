import { expect, test } from 'vitest'
import type { ImportRun } from '@/api/types'
import { correctedFile, refusalsFile } from './refusals'

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

test('corrected rows stand under the headings of their file, and no formula', () => {
  const run = { columns: [{ column: 'Asset tag' }, { column: 'Length' }] } as unknown as ImportRun
  expect(
    correctedFile(
      run,
      new Map([
        [3, ['HT-1', '8 in, or so']],
        [4, ['=B', '']],
      ]),
    ),
  ).toBe('\ufeff"Asset tag","Length"\r\n"HT-1","8 in, or so"\r\n"\'=B",""\r\n')
})
