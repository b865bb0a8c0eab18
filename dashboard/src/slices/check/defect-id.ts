// The id that the service gives to the defect of a failed step: a UUID of version 5 (RFC 9562, 5.5) of the command and the step, so that
// a phone without a signal can already name it.
import type { Id } from '@/api/types'

export async function defectId(command: Id, step: string): Promise<Id | null> {
  if (!globalThis.crypto?.subtle) return null
  const hex = command.replaceAll('-', '')
  const space = Uint8Array.from({ length: 16 }, (_, i) => parseInt(hex.slice(2 * i, 2 * i + 2), 16))
  const name = new TextEncoder().encode(step)
  const whole = new Uint8Array([...space, ...name])
  const bytes = new Uint8Array(await crypto.subtle.digest('SHA-1', whole)).slice(0, 16)
  bytes[6] = ((bytes[6] ?? 0) & 0x0f) | 0x50
  bytes[8] = ((bytes[8] ?? 0) & 0x3f) | 0x80
  const text = [...bytes].map((byte) => byte.toString(16).padStart(2, '0')).join('')
  return text.replace(/^(.{8})(.{4})(.{4})(.{4})/, '$1-$2-$3-$4-')
}
