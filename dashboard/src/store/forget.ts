// What leaves this browser, and when.
import type { Disk, Op } from './disk'
import type { Item, KeptSession, Photo } from './queue'

/** The copy of the feed; the outbox stays. */
export const COPY_GOES: Op[] = [
  { clear: 'records' },
  { clear: 'pictures' },
  { delete: 'meta', key: 'replica' },
  { delete: 'meta', key: 'building' },
  { delete: 'meta', key: 'signers' },
  { delete: 'meta', key: 'defect-rules' },
]

/** Signing out wipes what is one's own. What other members have queued here stays theirs. */
export async function forget(disk: Disk, owner: string): Promise<void> {
  const items = (await disk.all<Item>('outbox')).filter((i) => i.owner === owner)
  const photos = (await disk.all<Photo>('photos')).filter((p) => p.owner === owner)
  await disk.write([
    ...COPY_GOES,
    { delete: 'meta', key: 'session' },
    { delete: 'meta', key: `phone:${owner}` },
    { delete: 'meta', key: `walks:${owner}` },
    { delete: 'meta', key: `trials:${owner}` },
    { delete: 'meta', key: `looks:${owner}` },
    { delete: 'meta', key: `done:${owner}` },
    { delete: 'meta', key: `lines:${owner}` },
    ...items.map((i): Op => ({ delete: 'outbox', key: i.seq })),
    ...photos.map((p): Op => ({ delete: 'photos', key: [p.owner, p.sha] })),
  ])
}

/** The device was revoked: nothing stays, whoever it belonged to. */
export const forgetAll = (disk: Disk): Promise<void> =>
  disk.write((['records', 'meta', 'outbox', 'photos', 'pictures'] as const).map((clear) => ({ clear })))

/** The server ended the sign-in: everything stays, and waits for somebody to sign in. */
export const endSession = (disk: Disk): Promise<void> =>
  disk.write([
    { change: 'meta', key: 'session', to: (old: KeptSession | undefined) => old && { ...old, ended: true } },
  ])
