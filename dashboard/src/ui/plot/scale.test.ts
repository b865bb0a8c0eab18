import { describe, expect, it } from 'vitest'
import { linear, log } from './scale'

describe('linear', () => {
  it('puts the ends at the ends and ticks at round steps', () => {
    const axis = linear(0, 3.03, 100, 400, 6)
    expect(axis.ticks).toEqual([0, 0.5, 1, 1.5, 2, 2.5, 3])
    expect(axis.at(0)).toBe(100)
    expect(axis.at(3.03)).toBeCloseTo(400)
  })
  it('reads upside down as well, and starts its ticks above a raised foot', () => {
    const axis = linear(0.6, 1, 200, 0, 4)
    expect(axis.ticks).toEqual([0.6, 0.7, 0.8, 0.9, 1])
    expect(axis.at(1)).toBeCloseTo(0)
  })
  it('has a span where all values are the same', () => {
    expect(Number.isFinite(linear(0, 0, 0, 10).at(0))).toBe(true)
  })
})

describe('log', () => {
  it('gives each factor of ten the same room', () => {
    const axis = log(0.1, 10, 0, 200)
    expect(axis.at(1)).toBeCloseTo(100)
    expect(axis.ticks).toEqual([0.1, 0.2, 0.5, 1, 2, 5, 10])
  })
  it('keeps what has no logarithm on its edge', () => {
    expect(log(0.1, 10, 7, 200).at(0)).toBe(7)
  })
})
