// Receipts of a notice, station by station.
import type { NoticeReading, Station } from '@/api/types'

export interface StationReadings {
  id: string
  name: string
  /** Of each shift, by its name. */
  readings: NoticeReading[]
}

/** Every station, those that have not read it first. */
export function byStation(
  stations: Pick<Station, 'id' | 'name'>[],
  readings: NoticeReading[],
): StationReadings[] {
  const lines = stations.map(({ id, name }) => ({
    id,
    name,
    readings: readings
      .filter((one) => one.station === id)
      .toSorted((a, b) => a.shift.localeCompare(b.shift, 'en', { numeric: true })),
  }))
  return lines.toSorted((a, b) => Number(a.readings.length > 0) - Number(b.readings.length > 0))
}

/** "Read at 2 of 5 stations", as the heading says it. */
export const readWords = (read: number, stations: number) =>
  stations && read === stations
    ? 'Read at every station'
    : `Read at ${read} of ${stations} ${stations === 1 ? 'station' : 'stations'}`
