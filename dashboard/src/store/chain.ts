// Taking acts out of the outbox, with all that follows from them.
import type { Disk, Op } from './disk'
import { changePhoto, follows, noteDone, type Item, type Photo } from './queue'

/** The item and all that come after it in its chain. */
export function chain(items: Item[], from: Item): Item[] {
  const ids = new Set([from.id])
  for (const item of items) if (follows(item.command).some((a) => a && ids.has(a))) ids.add(item.id)
  return items.filter((i) => ids.has(i.id))
}

/** Takes items out together with the photos that nothing else names, unless a form is open that does. What may have arrived stays: false. */
export async function takeOut(disk: Disk, items: Item[], open = false): Promise<boolean> {
  if (items.some((i) => i.state === 'sent' || (i.state === 'waiting' && i.tried > 0))) return false
  const ids = new Set(items.map((i) => i.id))
  const ops: Op[] = items.map((i) => ({ delete: 'outbox', key: i.seq }))
  const left = (photo: Photo) => photo.for.filter((id) => !ids.has(id))
  const free = (photo: Photo) => (open || left(photo).length ? { ...photo, for: left(photo) } : undefined)
  for (const { owner, photos } of items) for (const sha of photos) ops.push(changePhoto(owner, sha, free))
  ops.push(...noteDone(items))
  await disk.write(ops)
  return true
}
