// How far an import is, as the service counts it: asked each half second until the file is answered, and said in words.
import type { ImportProgress } from '@/api/types'
import type { Reply } from 'fullset-client'
import { plural } from '@/words/share'

export const POLL_MS = 500

export interface Asking {
  ask: () => Promise<Reply<ImportProgress>>
  /** What the service said; null where it works on no such import, or where that one process was asked that does not. */
  tell: (progress: ImportProgress | null) => void
  ended: () => boolean
  pause?: () => Promise<unknown>
}

const halfSecond = () => new Promise((resolve) => setTimeout(resolve, POLL_MS))

/** An answer that would be the same a moment later. */
const isRefusal = (status: number) => status >= 400 && status < 500 && status !== 429

/** Asks one question at a time, until it ended. No answer at all says nothing. */
export async function follow({ ask, tell, ended, pause = halfSecond }: Asking): Promise<void> {
  for (;;) {
    await pause()
    if (ended()) return
    const reply = await ask()
    if (ended()) return
    if (reply.ok) tell(reply.data)
    else if (isRefusal(reply.problem.status)) tell(null)
  }
}

/** What is being done, in a sentence. */
export function progressWords(progress: ImportProgress | null): string {
  if (!progress) return 'The file was sent. How far it is, the server has not said yet.'
  const { stage, rows_done, rows, dry_run } = progress
  const of = `${rows_done.toLocaleString('en')} of ${plural(rows ?? 0, 'row')}`
  switch (stage) {
    case 'reading':
      return 'The server reads the file.'
    case 'waiting':
      return 'The file is read. It waits for its turn.'
    case 'matching':
      return 'Its rows are compared with the register.'
    case 'writing':
      return dry_run
        ? `${of} tried out. Nothing of it is kept.`
        : `${of} written. They count once all are in.`
    case 'judging':
      return dry_run
        ? `All ${plural(rows ?? 0, 'row')} tried out. The server works out what they would do to the rigs.`
        : `All ${plural(rows ?? 0, 'row')} written. The server judges the rigs and pieces and saves.`
    default:
      // A later server may say more.
      return 'The server works on it.'
  }
}
