// Photos go by the hash of their bytes, in parts: a broken upload goes on where the server says it stopped.
import { noConnection, problemOf, type Client } from './http'
import type { Problem } from './types'

export type Uploaded = { ok: true } | { ok: false; problem: Problem }

const PART = 128 * 1024
/** For one part. */
const PATIENCE_MS = 60_000

/** Lower-case hex of the SHA-256: the photo's name. */
export async function sha256(bytes: ArrayBuffer | Uint8Array): Promise<string> {
  return hex(new Uint8Array(await crypto.subtle.digest('SHA-256', bytes as BufferSource)))
}
export const hex = (bytes: Uint8Array) => [...bytes].map((b) => b.toString(16).padStart(2, '0')).join('')

/** Uploads what the server does not have yet. Done already is as good as done now. */
export async function upload(
  client: Client,
  sha: string,
  bytes: ArrayBuffer,
  type: string,
  part = PART,
): Promise<Uploaded> {
  const path = `/v1/photos/${sha}`
  try {
    const known = await client.raw(path, { method: 'HEAD', signal: AbortSignal.timeout(PATIENCE_MS) })
    if (known.ok) return { ok: true }
    if (known.status !== 404) return failed(known)
    let offset = offsetOf(known) ?? 0
    let stray = 0
    let anew = false
    while (offset < bytes.byteLength) {
      const end = Math.min(offset + part, bytes.byteLength)
      const whole = offset === 0 && end === bytes.byteLength
      const range = {
        'content-range': `bytes ${offset}-${end - 1}/${bytes.byteLength}`,
      }
      const answer = await client.raw(path, {
        method: 'PUT',
        signal: AbortSignal.timeout(PATIENCE_MS),
        body: bytes.slice(offset, end),
        headers: { 'content-type': type, ...(whole ? {} : range) },
      })
      if (answer.status === 200 || answer.status === 201) return { ok: true }
      const at = offsetOf(answer)
      // What was there before is of other bytes, and is forgotten by now: once from the beginning.
      if (answer.status === 422) {
        const problem = await problemOf(answer)
        if (problem.code !== 'photo-mismatch' || !offset || anew) return { ok: false, problem }
        anew = true
        offset = 0
        continue
      }
      // 409: the server stands elsewhere, for example because another tab sent a part. Go on from there.
      const elsewhere = answer.status === 409 && at !== null && stray++ < 8
      if (answer.status !== 202 && !elsewhere) return failed(answer)
      offset = at ?? end
    }
    return {
      ok: false,
      problem: {
        code: 'photo-incomplete',
        title: 'The server did not take the whole photo',
        status: 0,
      },
    }
  } catch (fault) {
    return { ok: false, problem: noConnection(fault) }
  }
}

function offsetOf(response: Response): number | null {
  const text = response.headers.get('upload-offset')
  return text !== null && /^\d+$/.test(text) ? Number(text) : null
}

async function failed(response: Response): Promise<Uploaded> {
  return { ok: false, problem: await problemOf(response) }
}
