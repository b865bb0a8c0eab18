import { describe, expect, it } from 'vitest'
import { layWall, MOST_TILES, pagesOf } from './wall'

/** The room that a screen of 1920 by 1080 leaves under the line on top. */
const [WIDTH, HEIGHT] = [1880, 950]

describe('the wall', () => {
  it.each([28, 34, 43, 60, 65, MOST_TILES])('holds %i tiles on one screen, each name readable', (tiles) => {
    const sheet = layWall(tiles, WIDTH, HEIGHT, 9)
    expect(sheet.columns * sheet.rows).toBeGreaterThanOrEqual(tiles)
    expect(sheet.columns * sheet.width).toBeLessThanOrEqual(WIDTH)
    expect(sheet.rows * sheet.height).toBeLessThanOrEqual(HEIGHT)
    // From memory: a letter is read at 1/200 of the way. Four metres are 20 mm, 25 px of a screen of 1.4 m across; a capital is 0.7 of its size.
    expect(sheet.name * 0.7).toBeGreaterThanOrEqual(tiles <= 43 ? 25 : 20)
  })
  it('makes tiles larger where there are fewer', () => {
    expect(layWall(28, WIDTH, HEIGHT, 9).name).toBeGreaterThan(layWall(60, WIDTH, HEIGHT, 9).name)
    expect(layWall(0, WIDTH, HEIGHT, 9).name).toBeGreaterThan(0)
  })
  it('is more than one page only where the tiles would be too small, and loses none', () => {
    expect(pagesOf(Array.from({ length: 65 }))).toHaveLength(1)
    const pages = pagesOf(Array.from({ length: 150 }, (_, i) => i))
    expect(pages.map((page) => page.length)).toEqual([50, 50, 50])
    expect(pages.flat()).toHaveLength(150)
  })
})
