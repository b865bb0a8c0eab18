// How a district stood against the number of full rigs that it is to have, in words.
import type { DistrictsAtMinimum } from '@/api/types'
import { inPercent } from '@/words/csv'
import type { Length } from './council'
import { percent } from './months'

type Row = DistrictsAtMinimum['rows'][number]
type Share = Row['total']
type Short = Row['short'][number]

export const minimumWords = (rigs: number) =>
  rigs ? `${rigs} full ${rigs === 1 ? 'rig' : 'rigs'}` : 'no number set'

/** "none full of 2 needed". */
export const shortWords = ({ fewest, needed }: Short) => `${fewest || 'none'} full of ${needed} needed`

/** Whole days; what is less than two of them in hours. */
function lasts(seconds: number): string {
  const hours = Math.round(seconds / 3600)
  if (hours < 48) return hours ? `${hours} ${hours === 1 ? 'hour' : 'hours'}` : 'less than an hour'
  return `${Math.round(hours / 24)} days`
}

/** The share of all the time that can be told: a number was set, and it is known how the rigs stood. */
function toldShare({ met_seconds, short_seconds, unknown_seconds, unset_seconds }: Share): number {
  const told = met_seconds + short_seconds
  const all = told + unknown_seconds + unset_seconds
  return all > 0 ? told / all : 0
}

/** Of part of the time it says so in the same breath: "100 % of the 54 % of the year that can be told". */
export function metWords(total: Share, length: Length): string {
  if (total.met === null) return 'not known'
  const told = toldShare(total)
  if (told >= 1) return percent(total.met)
  const part = told < 0.01 ? 'under 1 %' : `${Math.floor(told * 100)} %`
  return `${percent(total.met)} of the ${part} of the ${length} that can be told`
}

/** The time that is in no share: "12 hours not known, 152 days with no number set". */
export function otherTime({ unknown_seconds, unset_seconds }: Share): string {
  return [
    unknown_seconds ? `${lasts(unknown_seconds)} not known` : '',
    unset_seconds ? `${lasts(unset_seconds)} with no number set` : '',
  ]
    .filter(Boolean)
    .join(', ')
}

/** As rows of a spreadsheet. */
export function minimumRows(period: string, rows: readonly Row[]) {
  const head = [
    ...[
      'District',
      'Period',
      'Number set now',
      'Met, % of the time that can be told',
      'Met, hours',
      'Short, hours',
    ],
    ...[
      'Can be told, % of all time',
      'Not known, hours',
      'With no number set, hours',
      'Times short',
      'Longest from',
      'Longest until',
    ],
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
    ...[
      inPercent(toldShare(total)),
      inHours(total.unknown_seconds),
      inHours(total.unset_seconds),
      short_count,
    ],
    ...[short[0]?.from ?? null, short[0]?.until ?? null],
  ])
  return [head, ...body]
}
