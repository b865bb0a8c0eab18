// The browser's side of passkeys: what the server asks for as the browser takes it, and the answer as the server takes it.
import type { PasskeyAsked, PasskeyToMake, Problem } from '@/api/types'

const bytes = (text: string) =>
  Uint8Array.from(atob(text.replace(/-/g, '+').replace(/_/g, '/')), (sign) => sign.charCodeAt(0))
const text = (bytes: ArrayBuffer) =>
  btoa(String.fromCharCode(...new Uint8Array(bytes)))
    .replace(/\+/g, '-')
    .replace(/\//g, '_')
    .replace(/=+$/, '')
const named = (credentials: string[]) =>
  credentials.map((id) => ({ type: 'public-key' as const, id: bytes(id) }))

/** Whether this browser has passkeys at all: it has none without TLS. */
export const hasPasskeys = () => typeof PublicKeyCredential !== 'undefined'

/** Why a passkey can be neither made nor used on this page; empty where it can. */
export function notHere(origin: string | null | undefined): string {
  if (!origin) return 'The service does not know the address that you open it under: ask whoever runs it.'
  if (origin !== location.origin) return `They work at ${origin}: open the app there.`
  if (!hasPasskeys()) return 'This browser has none.'
  return ''
}

/** What went wrong between browser, authenticator and person, as a problem like the server's. */
function problemOf(fault: unknown): Problem {
  const name = fault instanceof DOMException ? fault.name : ''
  if (name === 'InvalidStateError')
    return { code: 'passkey', status: 0, title: 'This device has a passkey of yours already.', hint: '' }
  return {
    code: 'passkey',
    status: 0,
    title: 'No passkey was given.',
    hint: 'Try again, and confirm it when your device asks.',
  }
}
type Given<T> = { ok: true; body: T } | { ok: false; problem: Problem }

async function given<T>(ask: () => Promise<Credential | null>, read: (it: PublicKeyCredential) => T) {
  try {
    const answer = await ask()
    if (!(answer instanceof PublicKeyCredential)) throw new DOMException('none', 'NotAllowedError')
    return { ok: true, body: read(answer) } as Given<T>
  } catch (fault) {
    return { ok: false, problem: problemOf(fault) } as Given<T>
  }
}

/** Has the authenticator make a passkey. */
export const make = (asked: PasskeyToMake, name: string) =>
  given(
    () =>
      navigator.credentials.create({
        publicKey: {
          challenge: bytes(asked.challenge),
          rp: { id: asked.rp_id, name: 'Fullset' },
          user: { id: bytes(asked.user_id), name: asked.user_name, displayName: asked.display_name },
          pubKeyCredParams: asked.algorithms.map((alg) => ({ type: 'public-key', alg })),
          excludeCredentials: named(asked.exclude),
          authenticatorSelection: { residentKey: 'preferred', userVerification: 'preferred' },
          attestation: 'none',
          timeout: asked.expires_in * 1000,
        },
      }),
    ({ response }) => ({
      ticket: asked.ticket,
      name,
      client_data: text(response.clientDataJSON),
      attestation: text((response as AuthenticatorAttestationResponse).attestationObject),
    }),
  )

/** Has the authenticator sign what it is asked for. */
export const sign = (asked: PasskeyAsked) =>
  given(
    () =>
      navigator.credentials.get({
        publicKey: {
          challenge: bytes(asked.challenge),
          rpId: asked.rp_id,
          allowCredentials: named(asked.credentials),
          userVerification: asked.verify ? 'required' : 'preferred',
          timeout: asked.expires_in * 1000,
        },
      }),
    ({ rawId, response }) => {
      const { clientDataJSON, authenticatorData, signature, userHandle } =
        response as AuthenticatorAssertionResponse
      return {
        ticket: asked.ticket,
        credential: text(rawId),
        client_data: text(clientDataJSON),
        authenticator_data: text(authenticatorData),
        signature: text(signature),
        ...(userHandle?.byteLength ? { user_handle: text(userHandle) } : {}),
      }
    },
  )
