import type { HistoryItem } from '@/api/types'
import { moment } from './time'

/** Time of the act first; when it came in much later, that is said too. */
export function historyLine(item: HistoryItem, now: Date) {
  const late = item.received_at ? Date.parse(item.received_at) - Date.parse(item.at) : 0
  return {
    key: `${item.revision}-${item.kind}-${item.at}`,
    when: moment(item.at, now),
    who: item.by.name,
    words: item.words,
    late: late > 120_000 && item.received_at ? `came in ${moment(item.received_at, now)}` : undefined,
  }
}
