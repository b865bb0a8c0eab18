// Acts that carry a secret.
import { prepare, push, type Write } from 'fullset-client'
import { wire } from '@/api/client'
import type { Problem } from '@/api/types'
import { problemWords } from '@/words/problems'
import type { Act } from './act.svelte'

/** Goes straight to the server and never through the outbox: a password, a PIN or a secret is not kept on a phone, not even for a
 *  minute. */
export async function straight(write: Write): Promise<Problem | null> {
  const reply = await push(wire, prepare([write]))
  if (!reply.ok) return reply.problem
  const [answer] = reply.data.answers
  if (answer?.outcome === 'applied' || answer?.outcome === 'repeated') return null
  return answer?.problem ?? { code: 'no-answer', title: 'The server left this without an answer', status: 0 }
}

/** Whether it took effect; the act shows why not. */
export async function sendSecret(act: Act, write: Write): Promise<boolean> {
  if (act.busy) return false
  act.clear()
  act.busy = true
  act.problem = await straight(write)
  act.busy = false
  return !act.problem
}

/** The service asks for the password again where an act opens or closes a way in and the sign-in is older than ten minutes. */
export const asksProof = (problem: Problem | null): boolean => problem?.code === 'proof-needed'

/** Gives it; what is wrong with it, if anything is. */
export async function prove(password: string) {
  const reply = await wire.POST('/v1/session/proof', { body: { password } })
  return reply.ok ? null : problemWords(reply.problem)
}
