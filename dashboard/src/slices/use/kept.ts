// What was said of the pieces after a call and not sent yet, kept on this phone: whoever goes to report a defect comes back to it.
import type { Id } from '@/api/types'
import type { Disk } from '@/store/disk'

interface Kept {
  use: Id
  right: Id[]
}
const keyFor = (owner: string) => `looks:${owner}`

/** The pieces of this use that are all right. */
export const keptLooks = async (disk: Disk, owner: string, use: Id): Promise<Id[]> => {
  const kept = await disk.get<Kept>('meta', keyFor(owner))
  return kept?.use === use ? kept.right : []
}
/** Only of the last use that was looked over. */
export const keepLooks = (disk: Disk, owner: string, use: Id, right: Id[]): Promise<void> =>
  disk.write([{ put: 'meta', key: keyFor(owner), value: { use, right } satisfies Kept }])
