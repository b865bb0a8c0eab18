import { expect, it } from 'vitest'
import { csv } from './csv'

it('writes a file that no spreadsheet runs', () => {
  expect(csv([['a,b', '=SUM(A1)', -2.5, null, 'say "so"']])).toBe('"a,b",\'=SUM(A1),-2.5,,"say ""so"""\r\n')
  for (const first of '=+-@＝＋－＠\t\r')
    expect(csv([[`${first}cmd|' /C calc'!A0`]]).replace(/^"/, '')[0]).toBe("'")
})
it('marks an apostrophe too, so that what reads the file again takes one away and gets the name', () => {
  expect(csv([["'Old Mill"], ['Old Mill'], ['Mill, "old"']])).toBe(
    '\'\'Old Mill\r\nOld Mill\r\n"Mill, ""old"""\r\n',
  )
})
