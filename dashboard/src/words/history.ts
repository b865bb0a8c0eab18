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

/** Where a use that the journal names is corrected: at the rig that it was recorded on. */
export function useAt({ kind, body }: HistoryItem): { use: string; href: string } | undefined {
  const { id, rig } = body as { id?: unknown; rig?: unknown }
  return kind === 'use.record' && typeof id === 'string' && typeof rig === 'string'
    ? { use: id, href: `/rigs/${rig}/use?correct=${id}` }
    : undefined
}
