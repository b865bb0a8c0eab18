// Acts that carry a secret.
import { prepare, push, type Write } from 'fullset-client'
import { wire } from '@/api/client'
import type { Problem } from '@/api/types'

/** Goes straight to the server and never through the outbox: a password or a secret is not kept on a phone, not even for a
 *  minute. */
export async function sendSecret(write: Write): Promise<Problem | null> {
  const reply = await push(wire, prepare([write]))
  if (!reply.ok) return reply.problem
  const [answer] = reply.data.answers
  if (answer?.outcome === 'applied' || answer?.outcome === 'repeated') return null
  return answer?.problem ?? { code: 'no-answer', title: 'The server left this without an answer', status: 0 }
}
