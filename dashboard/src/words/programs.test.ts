import { expect, test } from 'vitest'
import { programWords, whereWords } from './programs'

test('a browser is called by its name and its machine', () => {
  const cases: [string | null, string][] = [
    [
      'Mozilla/5.0 (Windows NT 10.0; Win64; x64; rv:128.0) Gecko/20100101 Firefox/128.0',
      'Firefox on Windows',
    ],
    [
      'Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/126.0 Safari/537.36',
      'Chrome on Linux',
    ],
    [
      'Mozilla/5.0 (iPhone; CPU iPhone OS 17_5 like Mac OS X) AppleWebKit/605.1 Version/17.5 Mobile Safari/604.1',
      'Safari on an iPhone',
    ],
    [
      'Mozilla/5.0 (Windows NT 10.0) AppleWebKit/537.36 Chrome/126.0 Safari/537.36 Edg/126.0',
      'Edge on Windows',
    ],
    ['dispatch/1.2', 'a program (dispatch)'],
    [null, 'a program'],
  ]
  for (const [program, words] of cases) expect(programWords(program)).toBe(words)
})

test('a device is called by its own name', () => {
  expect(whereWords({ device: 'Bay 2', program: null })).toBe('Bay 2')
  expect(whereWords({ device: null, program: 'dispatch/1.2' })).toBe('A program (dispatch)')
})
