// How a district stood against the number of full rigs that it is to have, in words.
import type { DistrictsAtMinimum } from '@/api/types'
import { inPercent } from '@/words/csv'

type Row = DistrictsAtMinimum['rows'][number]
type Share = Row['total']
type Short = Row['short'][number]

export const minimumWords = (rigs: number) =>
  rigs ? `${rigs} full ${rigs === 1 ? 'rig' : 'rigs'}` : 'no number set'

/** "none full of 2 needed". */
export const shortWords = ({ fewest, needed }: Short) => `${fewest || 'none'} full of ${needed} needed`

const hours = (seconds: number) => `${Math.round(seconds / 3600)} h`

/** The time that is in no share: "12 h not known, 30 h without a number". */
export function otherTime({ unknown_seconds, unset_seconds }: Share): string {
  return [
    unknown_seconds ? `${hours(unknown_seconds)} not known` : '',
    unset_seconds ? `${hours(unset_seconds)} without a number` : '',
  ]
    .filter(Boolean)
    .join(', ')
}

/** As rows of a spreadsheet. */
export function minimumRows(period: string, rows: readonly Row[]) {
  const head = [
    ...['District', 'Period', 'Full rigs needed now', 'Met, % of known time', 'Met, hours', 'Short, hours'],
    ...['Not known, hours', 'Without a number, hours', 'Times short', 'Longest from', 'Longest until'],
  ]
  const inHours = (seconds: number) => Math.round(seconds / 360) / 10
  const body = rows.map(({ name, minimum, total, short, short_count }) => [
    ...[
      name,
      period,
      minimum,
      inPercent(total.met),
      inHours(total.met_seconds),
      inHours(total.short_seconds),
    ],
    ...[inHours(total.unknown_seconds), inHours(total.unset_seconds), short_count],
    ...[short[0]?.from ?? null, short[0]?.until ?? null],
  ])
  return [head, ...body]
}
