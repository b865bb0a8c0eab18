// Photos on this phone: made small, without the camera's notes, named by their hash, and kept as bytes until the server has them.
import { sha256 } from 'fullset-client/photos'
import type { Problem } from '@/api/types'
import { disk } from './disk'
import type { Photo } from './queue'
import { session } from './session.svelte'

const LONGEST = 2048
const QUALITY = 0.82

/** Keeps a photo for the act that will name it. `url` shows it until the page is left. Throws a problem. */
export async function keepPhoto(blob: Blob): Promise<{ sha: string; url: string }> {
  if (!globalThis.crypto?.subtle) {
    throw fault('photo-needs-https', 'Photos need a secure address (https). Send the words without it.')
  }
  const small = await smaller(blob)
  const bytes = await small.arrayBuffer()
  const sha = await sha256(bytes)
  const store = await disk()
  const fresh: Photo = { sha, owner: session.owner, type: small.type, bytes, at: Date.now(), for: [] }
  const to = (old: Photo | undefined) => old ?? fresh
  try {
    await store.write([{ change: 'photos', key: [fresh.owner, sha], to }])
  } catch {
    throw fault('photo-too-large', 'This phone has no room for the photo. Send the words without it.')
  }
  return { sha, url: URL.createObjectURL(small) }
}

/** The person took it away again. One that an act names stays. */
export async function dropPhoto(sha: string): Promise<void> {
  const to = (old: Photo | undefined) => (old?.for.length ? old : undefined)
  await (await disk()).write([{ change: 'photos', key: [session.owner, sha], to }])
}

/** From this phone while it is here, else from the server. */
export async function photoUrl(sha: string, size: 'thumbnail' | 'full' = 'full'): Promise<string> {
  const kept = await (await disk()).get<Photo>('photos', [session.owner, sha])
  if (kept) return URL.createObjectURL(new Blob([kept.bytes], { type: kept.type }))
  return `/v1/photos/${sha}${size === 'thumbnail' ? '/thumbnail' : ''}`
}

/** Drawn anew: turned the right way up, at most 2048 px on the longer side, and nothing but the picture. */
async function smaller(blob: Blob): Promise<Blob> {
  let bitmap: ImageBitmap
  try {
    bitmap = await createImageBitmap(blob, { imageOrientation: 'from-image' })
  } catch {
    throw fault('photo-unreadable', 'This file is not a picture that the browser can read.')
  }
  try {
    const scale = Math.min(1, LONGEST / Math.max(bitmap.width, bitmap.height))
    const canvas = document.createElement('canvas')
    canvas.width = Math.max(1, Math.round(bitmap.width * scale))
    canvas.height = Math.max(1, Math.round(bitmap.height * scale))
    const pen = canvas.getContext('2d')
    if (!pen) throw fault('photo-unreadable', 'The browser could not draw the picture.')
    // A picture with clear parts would turn black there.
    pen.fillStyle = '#fff'
    pen.fillRect(0, 0, canvas.width, canvas.height)
    pen.drawImage(bitmap, 0, 0, canvas.width, canvas.height)
    const made = await new Promise<Blob | null>((resolve) => canvas.toBlob(resolve, 'image/jpeg', QUALITY))
    if (!made) throw fault('photo-unreadable', 'The browser could not draw the picture.')
    return made
  } finally {
    bitmap.close()
  }
}

const fault = (code: string, title: string): Problem => ({ code, title, status: 0 })
