import { describe, expect, it } from 'vitest'
import { encode, pathOf } from '@/ui/qr'
import { tagUrl } from '@/words/tag'
import { EDGE, layout, lines, PAPERS, QUIET, SHEETS, SMALL_MODULE, spots, tagSize } from './sheets'

const ORIGIN = 'https://fullset.riverbend-county.example'

describe('label sheets', () => {
  it.each(SHEETS.map((s) => [s.name, s] as const))(
    '%s lies inside its page and overlaps nothing',
    (_, sheet) => {
      const page = PAPERS[sheet.paper]
      const each = sheet.columns * sheet.rows
      expect(each).toBeGreaterThan(1)
      const all = spots(sheet, each)
      for (const { x, y } of all) {
        expect(x).toBeGreaterThanOrEqual(-0.001)
        expect(y).toBeGreaterThanOrEqual(-0.001)
        expect(x + sheet.width).toBeLessThanOrEqual(page.width + 0.001)
        expect(y + sheet.height).toBeLessThanOrEqual(page.height + 0.001)
      }
      expect(sheet.stepX).toBeGreaterThanOrEqual(sheet.width)
      expect(sheet.stepY).toBeGreaterThanOrEqual(sheet.height)
      expect(new Set(all.map((s) => s.page))).toEqual(new Set([0]))
    },
  )
  it('are stated in the agency’s units only, on the paper it buys', () => {
    expect(
      SHEETS.filter((s) => s.units === 'us').every((s) => s.paper === 'letter' && s.name.includes(' in')),
    ).toBe(true)
    expect(
      SHEETS.filter((s) => s.units === 'si').every((s) => s.paper === 'a4' && s.name.includes(' mm')),
    ).toBe(true)
  })
  it('go on where a begun sheet ends, and over to the next page', () => {
    const sheet = SHEETS.find((s) => s.key === 'in-10')
    if (!sheet) throw new Error('no such sheet')
    const at = spots(sheet, 3, 9)
    expect(at.map((s) => s.page)).toEqual([0, 0, 1])
    expect(at[2]).toEqual({ ...spots(sheet, 1)[0], page: 1 })
    expect(spots(sheet, 1, 99)[0]).toEqual(spots(sheet, 10)[9])
    expect(spots(sheet, 1, 1, 2, -1)[0]?.x).toBeCloseTo(sheet.left + 2)
  })
})

describe('one label', () => {
  it.each(SHEETS.map((s) => [s.name, s] as const))(
    '%s holds code, quiet zone and letters',
    async (_, sheet) => {
      const code = await encode(tagUrl(ORIGIN, 'TC-HOSE-0117'))
      const room = layout(sheet, code.modules)
      expect(room.module * (code.modules + 2 * QUIET)).toBeCloseTo(room.side)
      expect(room.side + 2 * EDGE).toBeLessThanOrEqual(Math.min(sheet.width, sheet.height) + 0.001)
      expect(room.module).toBeGreaterThanOrEqual(SMALL_MODULE)
      const size = tagSize('TC-HOSE-0117', room)
      expect(size).toBeGreaterThan(1.4)
      expect(size * 0.6 * 12).toBeLessThanOrEqual(room.textWidth)
    },
  )
  it('breaks a long model name into two lines and shows that something is missing', () => {
    expect(lines('Ostrel C70', 30, 2.3)).toEqual(['Ostrel C70'])
    const two = lines('Kestane battery combination tool with long arms and tips', 25, 2.3)
    expect(two).toHaveLength(2)
    expect(two[1]).toMatch(/…$/)
    for (const line of two) expect(line.length).toBeLessThanOrEqual(Math.floor(25 / (2.3 * 0.52)))
  })
  it('draws each run of dark squares once', () => {
    expect(pathOf([[true, true, false, true]])).toBe('M0 0h2v1h-2zM3 0h1v1h-1z')
    expect(pathOf([[false], [true]])).toBe('M0 1h1v1h-1z')
  })
})
