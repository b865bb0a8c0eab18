// Signs queued commands on a shared tablet. The PIN is used and forgotten; only the signature is kept.
import { keyOf, plausible, sign, type Signer } from 'fullset-client/sign'
import type { Command, Problem } from '@/api/types'
import { wire } from '@/api/client'
import { disk } from './disk'

/** Who may act at this tablet's station: from the server, or as it was when there was a signal last. */
export async function signers(): Promise<Signer[]> {
  const store = await disk()
  const reply = await wire.any<Signer[] | { items: Signer[] }>('GET', '/v1/signers')
  if (reply.ok) {
    const list = Array.isArray(reply.data) ? reply.data : reply.data.items
    await store.write([{ put: 'meta', key: 'signers', value: list }])
    return list
  }
  return (await store.get<Signer[]>('meta', 'signers')) ?? []
}

/** Throws a problem when the PIN cannot be right, also with no signal. */
export async function signAll(
  commands: Command[],
  signer: { member: string; pin: string },
  device: string,
): Promise<Command[]> {
  const known = (await signers()).find((s) => s.member === signer.member)
  const fault = (code: string, title: string): Problem => ({ code, title, status: 0 })
  if (!known) throw fault('signer-unknown', 'This member cannot sign on this tablet yet: they need a PIN.')
  const key = await keyOf(signer.pin, known)
  if (!(await plausible(key, known))) throw fault('pin-wrong', 'That is not your PIN.')
  return Promise.all(commands.map((command) => sign(command, device, signer.member, key)))
}
