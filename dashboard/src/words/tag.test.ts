import { describe, expect, it } from 'vitest'
import { blurred, tagOf, tagUrl } from './tag'

describe('a tag', () => {
  it('comes back out of its own address, on any host', () => {
    for (const tag of ['C-101', 'H 9/2', 'Ü-1', 'A#3']) {
      expect(tagOf(tagUrl('https://fullset.example', tag))).toBe(tag)
      expect(tagOf(tagUrl('http://10.0.0.8:8080', tag))).toBe(tag)
    }
    expect(tagOf('https://fullset.example/tag/C-101/?from=label#x')).toBe('C-101')
  })
  it('may stand bare', () => expect(tagOf('  C-101\n')).toBe('C-101'))
  it('is not read out of somebody else’s code', () => {
    expect(tagOf('https://elsewhere.example/products/12')).toBeNull()
    expect(tagOf('https://elsewhere.example/tag/')).toBeNull()
    expect(tagOf('https://x.example/tag/%E0%A4%A')).toBeNull()
    expect(tagOf('WIFI:S:station;T:WPA;P:secret;;')).toBeNull()
    expect(tagOf('one line\nand another')).toBeNull()
    expect(tagOf('')).toBeNull()
  })
  it('is found again when letters were mixed up', () => {
    expect(blurred('c-1O1')).toBe(blurred('C 101'))
    expect(blurred('H-9')).not.toBe(blurred('H-8'))
  })
})
