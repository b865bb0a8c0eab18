// Signs queued commands on a shared tablet. The PIN is used and forgotten; only the signature is kept.
import { keyOf, plausible, sign, type Signer } from 'fullset-client/sign'
import type { Command, Problem } from '@/api/types'
import { wire } from '@/api/client'
import { disk } from './disk'
import type { ActingMember } from './signing.svelte'

/** Who may act at this tablet's station, as the phone keeps it; asked for afresh meanwhile, or first when nothing is kept. */
export async function signers(): Promise<Signer[]> {
  const kept = await (await disk()).get<Signer[]>('meta', 'signers')
  const fresh = refreshSigners()
  return kept ?? (await fresh) ?? []
}

/** Null without an answer: then what is kept still counts. */
export async function refreshSigners(): Promise<Signer[] | null> {
  const reply = await wire.any<{ items: Signer[] }>('GET', '/v1/signers')
  if (!reply.ok) return null
  await (await disk()).write([{ put: 'meta', key: 'signers', value: reply.data.items }])
  return reply.data.items
}

/** Throws a problem when the PIN cannot be right, also with no signal. */
export async function signAll(
  commands: Command[],
  { member, pin }: ActingMember,
  device: string,
): Promise<{ commands: Command[]; name: string }> {
  const key = async (list: Signer[]) => {
    const signer = list.find((s) => s.member === member)
    const made = signer && (await keyOf(pin, signer))
    return made && (await plausible(made, signer)) ? { made, name: signer.name } : null
  }
  // A PIN that was changed since is known to the server alone.
  const found = (await key(await signers())) ?? (await key((await refreshSigners()) ?? []))
  if (!found) {
    const problem: Problem = { code: 'pin-wrong', title: 'That is not the PIN of this member.', status: 0 }
    throw { ...problem, hint: 'Try again. A member without a PIN sets one where they are signed in.' }
  }
  const signed = commands.map((command) => sign(command, device, member, found.made))
  return { commands: await Promise.all(signed), name: found.name }
}
