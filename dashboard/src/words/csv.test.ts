import { expect, it } from 'vitest'
import { csv, inPercent, spreadsheet } from './csv'

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
it('names a file by agency, what it holds and its day', () => {
  const { name, text } = spreadsheet('Tamarrow County Fire & Rescue', 'reserves', '2026-11-29', [['=A1']])
  expect(name).toBe('tamarrow-county-fire-rescue-reserves-2026-11-29.csv')
  expect(text).toBe("\ufeff'=A1\r\n")
})
it('leaves a share empty that is not known', () => {
  expect([0, 0.12345, 1, null, undefined].map(inPercent)).toEqual([0, 12.35, 100, null, null])
})
