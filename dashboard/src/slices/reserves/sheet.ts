// The families as rows of a spreadsheet: the columns of the table, bounds in columns of their own.
import type { ReservesView } from '@/api/types'
import { inPercent } from '@/words/csv'
import { capital } from './figures'
import type { Line, WhatIf } from './whatif'

export function reserveRows(
  view: Pick<ReservesView, 'from' | 'until'>,
  list: readonly Line[],
  whatIf: WhatIf,
) {
  const target = `Spares needed for ${inPercent(whatIf.target)} % of ${whatIf.of === 'ready' ? 'the time' : 'failures'}`
  const head = [
    ...['Family', 'Fleet, pieces', 'Spares, pieces', 'On hand now, pieces'],
    ...['Failures a year', 'Failures a year, at least', 'Failures a year, at most'],
    ...['Days away, mean', 'Repairs ended', 'Repairs open', 'Away on average, pieces'],
    ...['Failures that find a spare, %', 'Time with no slot waiting, %'],
    ...[target, 'Too few by, pieces', 'Reached at the bounds too', 'Slots waiting now'],
    ...[
      'Waits of a day and longer',
      'Longest wait, days',
      'Changed from the record',
      'Record from',
      'Record until',
    ],
  ]
  const body = list.map((line) => [
    ...[capital(line.family.name), line.family.fleet, line.spares, line.family.on_hand],
    ...[line.a_year, line.a_year_lower, line.a_year_upper],
    ...[line.days_away, line.family.repairs, line.family.open_repairs, line.mean_away],
    ...[inPercent(line.stock?.fill_rate), inPercent(line.stock?.ready_rate)],
    ...[line.needed, line.lacking, line.reach === null ? null : line.reach === 'enough' ? 'yes' : 'no'],
    ...[line.family.waits.now, line.family.waits.count, line.family.waits.longest_days],
    Object.keys(line.change).some((name) => name !== 'price') ? 'yes' : 'no',
    ...[view.from.slice(0, 10), view.until.slice(0, 10)],
  ])
  return [head, ...body]
}
