import { describe, expect, it } from 'vitest'
import { fit, oneSlip } from './match'

const cutter = {
  name: 'CU-104',
  serial: 'K55-7731',
  about: 'Cutter Korvath K-55 On Engine 3 Station 3 Bell Foundry',
}

describe('what is typed finds', () => {
  it('a tag without its sign, and by its number alone', () => {
    for (const text of ['CU-104', 'cu104', 'cu 104', ' CU_104 ']) expect(fit(text, cutter)).toBe(0)
    expect(fit('104', cutter)).toBe(1)
    expect(fit('0104', cutter)).toBe(1)
    expect(fit('cu1', cutter)).toBe(2)
    expect(fit('10', cutter)).toBe(3)
  })
  it('a serial, with or without its sign, whole or in part', () => {
    expect(fit('k55 7731', cutter)).toBe(4)
    expect(fit('7731', cutter)).toBe(5)
  })
  it('kind, model, rig and station, in any order of words', () => {
    for (const text of ['korvath', 'foundry cutter', 'engine 3', 'bell']) expect(fit(text, cutter)).toBe(6)
    expect(fit('korvath spreader', cutter)).toBeNull()
  })
  it('one typing error, and not two', () => {
    for (const text of ['cu14', 'cu1004', 'cv104', 'uc104']) expect(fit(text, cutter), text).toBe(8)
    for (const text of ['korvaht', 'fuondry', 'kovath']) expect(fit(text, cutter), text).toBe(9)
    for (const text of ['cv105', 'kroavth', 'xy']) expect(fit(text, cutter), text).toBeNull()
  })
  it('better what is exactly it than what is near', () => {
    expect(fit('104', { ...cutter, name: 'HO-1041' })).toBeGreaterThan(fit('104', cutter) ?? 9)
    expect(fit('CU-104', { ...cutter, name: 'CU-114' })).toBe(8)
  })
  it('a slip is one letter wrong, missing, too many or two that changed places', () => {
    expect([oneSlip('abcd', 'abcd'), oneSlip('abcd', 'abdc'), oneSlip('abcd', 'abc')]).toEqual([
      false,
      true,
      true,
    ])
    expect([oneSlip('abcd', 'xbcd'), oneSlip('abcd', 'dcba'), oneSlip('', 'ab')]).toEqual([
      true,
      false,
      false,
    ])
  })
})
