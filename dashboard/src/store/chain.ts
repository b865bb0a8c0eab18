// Taking acts out of the outbox, with all that follows from them.
import type { Disk, Op } from './disk'
import { changePhoto, follows, noteDone, type Item, type Photo } from './queue'

/** The item and all that come after it in its chain. */
export function chain(items: Item[], from: Item): Item[] {
  const ids = new Set([from.id])
  for (const item of items) if (follows(item.command).some((a) => a && ids.has(a))) ids.add(item.id)
  return items.filter((i) => ids.has(i.id))
}

/** Takes items out together with the photos that nothing else names. What may have arrived stays: false. */
export async function takeOut(disk: Disk, items: Item[]): Promise<boolean> {
  // Of what was refused the form may still be open, with its photos: they stay as those of a draft do.
  if (items.some((i) => i.state === 'sent' || (i.state === 'waiting' && i.tried > 0))) return false
  const ids = new Set(items.map((i) => i.id))
  const ops: Op[] = items.map((i) => ({ delete: 'outbox', key: i.seq }))
  const left = (photo: Photo) => photo.for.filter((id) => !ids.has(id))
  for (const { owner, photos, state } of items) {
    const free = (photo: Photo) =>
      left(photo).length || state === 'refused' ? { ...photo, for: left(photo) } : undefined
    for (const sha of photos) ops.push(changePhoto(owner, sha, free))
  }
  ops.push(...noteDone(items))
  await disk.write(ops)
  return true
}
