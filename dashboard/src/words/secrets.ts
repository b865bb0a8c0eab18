// Secrets that are made here and of which the server is told the hash alone.
import { sha256 } from 'fullset-client/photos'

export interface MadeSecret {
  /** 32 random bytes as base64url, 43 signs. */
  secret: string
  sha256: string
}
/** A new one; null where the browser makes no hashes, which is so without https. */
export async function newSecret(
  bytes = crypto.getRandomValues(new Uint8Array(32)),
): Promise<MadeSecret | null> {
  if (!globalThis.crypto.subtle) return null
  const secret = btoa(String.fromCharCode(...bytes))
    .replaceAll('+', '-')
    .replaceAll('/', '_')
    .replace(/=+$/, '')
  return { secret, sha256: await sha256(new TextEncoder().encode(secret)) }
}

/** What is said where the browser makes no hashes. */
export const NO_SECRETS = {
  title: 'This works over https only.',
  todo: 'Open this page at its https address, then try again.',
}
