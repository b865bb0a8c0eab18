import { expect, it } from 'vitest'
import { uuid7 } from '../src'

it('makes an id of version 7 that sorts by time', () => {
  const fixed = (n: number) => new Uint8Array(n).fill(255)
  expect(uuid7(0x0193_0000_0001, fixed)).toBe('01930000-0001-7fff-bfff-ffffffffffff')
  expect(uuid7(1000) < uuid7(2000)).toBe(true)
  expect(uuid7()).toMatch(/^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/)
})
