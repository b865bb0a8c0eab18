import { expect, it } from 'vitest'
import { said } from './said'

it('quotes somebody’s own words once, and nothing where nothing was said', () => {
  expect(said(' blade cracked. ')).toBe('“blade cracked”')
  expect(said('it drips, then ...')).toBe('“it drips, then ...”')
  expect(said(said('bent'))).toBe('“bent”')
  expect(said('the register file says “out of service”')).toBe('the register file says “out of service”')
  expect(said('  ', 'no reason given')).toBe('no reason given')
  expect(said(null)).toBe('')
})
