// Near misses and injuries in words.
import type { Mishap, MishapDuring, MishapSort } from '@/api/types'
import type { MarkWords } from './marks'
import { lastAt } from './shift'
import { dateIn } from './time'

const SORTS: Record<MishapSort, string> = { near_miss: 'Near miss', injury: 'Injury' }
export const SORT_LIST = Object.entries(SORTS) as [MishapSort, string][]
export const sortWord = (sort: MishapSort) => SORTS[sort] ?? sort

const DURING: Record<MishapDuring, string> = {
  rescue: 'At an incident',
  training: 'At a drill',
  check: 'At a check or while cleaning',
  transport: 'Carrying, loading or driving',
  repair: 'In the shop',
  other: 'Something else',
}
export const DURING_LIST = Object.entries(DURING) as [MishapDuring, string][]
export const duringWord = (during: MishapDuring) => DURING[during] ?? during

export const mishapMark = ({ sort, state }: Pick<Mishap, 'sort' | 'state'>): MarkWords =>
  state === 'closed'
    ? { shape: 'ended', tone: 'quiet', word: `${sortWord(sort)}, looked into` }
    : sort === 'injury'
      ? { shape: 'barred', tone: 'stop', word: 'Injury' }
      : { shape: 'notched', tone: 'weak', word: 'Near miss' }

/** The instant at which the agency's clock showed that time on that day; null: there was none such. */
export function instantOn(day: string, time: string): Date | null {
  const start = Date.parse(`${day}T00:00:00Z`)
  if (Number.isNaN(start) || !/^\d{2}:\d{2}/.test(time)) return null
  for (const hours of [12, 24, 36, 48]) {
    const at = lastAt(time.slice(0, 5), new Date(start + hours * 3_600_000))
    if (dateIn(at) === day) return at
  }
  return null
}

/** The newest first, what is open before what was looked into. */
export const openFirst = (all: Mishap[]) =>
  all.toSorted(
    (a, b) =>
      Number(a.state === 'closed') - Number(b.state === 'closed') ||
      b.happened_at.localeCompare(a.happened_at),
  )
