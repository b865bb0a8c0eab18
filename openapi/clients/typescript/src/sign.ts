// On a shared tablet each command is signed by a person with a PIN. The key made from the PIN never leaves this function's
// caller, and no PIN is kept.
import { hex, sha256 } from './photos'
import type { Command } from './types'

/** What the server says of a member who may act at the tablet's station. */
export interface Signer {
  member: string
  name: string
  role: string
  /** Base64url or hex, as the server wrote it. */
  salt: string
  iterations: number
  /** First byte, in hex, of the HMAC of "check": catches a typing slip with no signal. */
  check: string
}
export interface By {
  member: string
  /** First 8 bytes of the key's HMAC of "check", in hex: many commands signed with one wrong PIN are one guess. */
  check: string
  signature: string
}
export type SignedCommand = Command & { by?: By }

const text = (words: string) => new TextEncoder().encode(words)

export async function keyOf(pin: string, signer: Pick<Signer, 'salt' | 'iterations'>): Promise<CryptoKey> {
  const base = await crypto.subtle.importKey('raw', text(pin), 'PBKDF2', false, ['deriveBits'])
  const how = {
    name: 'PBKDF2',
    hash: 'SHA-256',
    salt: bytesOf(signer.salt),
    iterations: signer.iterations,
  }
  const bits = await crypto.subtle.deriveBits(how, base, 256)
  return crypto.subtle.importKey('raw', bits, { name: 'HMAC', hash: 'SHA-256' }, false, ['sign'])
}

/** Whether the PIN can be right; one wrong PIN in 256 passes, and the server finds it. */
export async function plausible(key: CryptoKey, signer: Pick<Signer, 'check'>): Promise<boolean> {
  return (await checkOf(key)).startsWith(signer.check.toLowerCase())
}

async function checkOf(key: CryptoKey): Promise<string> {
  const mac = new Uint8Array(await crypto.subtle.sign('HMAC', key, text('check')))
  return hex(mac.slice(0, 8))
}

/** Signs the body exactly as `JSON.stringify` sends it. */
export async function sign(
  command: Command,
  device: string,
  member: string,
  key: CryptoKey,
): Promise<SignedCommand> {
  const body = await sha256(text(JSON.stringify(command.body)))
  const said = [command.id, command.kind, device, body].join('\n')
  const mac = new Uint8Array(await crypto.subtle.sign('HMAC', key, text(said)))
  return { ...command, by: { member, check: await checkOf(key), signature: base64url(mac) } }
}

export function base64url(bytes: Uint8Array): string {
  return btoa(String.fromCharCode(...bytes))
    .replace(/\+/g, '-')
    .replace(/\//g, '_')
    .replace(/=+$/, '')
}

/** Sixteen bytes as 32 hex digits, or base64 in either alphabet. */
function bytesOf(salt: string): Uint8Array<ArrayBuffer> {
  if (/^[0-9a-f]{32}$/i.test(salt))
    return Uint8Array.from(salt.match(/../g) ?? [], (pair) => parseInt(pair, 16))
  return Uint8Array.from(atob(salt.replace(/-/g, '+').replace(/_/g, '/')), (c) => c.charCodeAt(0))
}
