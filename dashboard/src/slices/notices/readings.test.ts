import { describe, expect, it } from 'vitest'
import type { NoticeReading } from '@/api/types'
import { byStation, readWords } from './readings'

const reading = (station: string, shift: string) =>
  ({ id: `${station}/${shift}`, station, shift }) as NoticeReading

describe('who has read a notice', () => {
  it('names the stations that have not first, and each shift of the others', () => {
    const stations = ['1', '2', '3'].map((id) => ({ id, name: `Station ${id}` }))
    const lines = byStation(stations, [
      reading('1', 'B shift'),
      reading('3', 'A shift'),
      reading('1', 'A shift'),
    ])
    expect(lines.map(({ name, readings }) => [name, readings.map((one) => one.shift)])).toEqual([
      ['Station 2', []],
      ['Station 1', ['A shift', 'B shift']],
      ['Station 3', ['A shift']],
    ])
  })

  it('says how many have', () => {
    expect(readWords(0, 1)).toBe('Read at 0 of 1 station')
    expect(readWords(2, 5)).toBe('Read at 2 of 5 stations')
    expect(readWords(5, 5)).toBe('Read at every station')
    expect(readWords(0, 0)).toBe('Read at 0 of 0 stations')
  })
})
