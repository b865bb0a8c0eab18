// What a person can do about a problem, where the server did not say it itself.
import type { Problem } from '@/api/types'

/** What to do, by the server's code or our own `no-connection`. */
const REMEDY: Record<string, string> = {
  'no-connection': 'Check the signal, then try again. Safe to send again.',
  'sign-in-failed': 'Check the e-mail address and the password, then try again.',
  'slow-down': '',
  'proof-needed': 'Give your password again, then do it once more.',
  'code-unknown': '',
  'link-spent': '',
  'not-allowed': 'Your role may not do this. Ask an officer or the coordinator.',
  'out-of-reach': '',
  'resync-required': 'The page is fetching everything again by itself.',
}

export function problemTitle(problem: Problem): string {
  if (problem.code === 'sign-in-failed') return 'Sign-in failed'
  return problem.detail || problem.title || 'That did not work'
}

const missingOf = (problem: Problem | null | undefined) =>
  (problem as { missing?: { what: string; words: string }[] } | null | undefined)?.missing ?? []

/** Who may sign a release that this member may not; empty where the member's word is enough. */
export function signatureWords(problem: Problem | null | undefined): string {
  const one = missingOf(problem).find((missing) => missing.what === 'signature')
  return one ? `${one.words}.` : ''
}

/** Everything else that a release lacks, each as the refusal names it. */
export const lacksWords = (problem: Problem | null | undefined): string[] =>
  missingOf(problem)
    .filter((one) => one.what !== 'signature' && one.what !== 'note')
    .map((one) => one.words)

/** Why it cannot be done at all, whatever is filled in: another station's piece, a state that does not allow it. */
export const barredWords = (problem: Problem | null | undefined): string =>
  problem && !missingOf(problem).length && problem.code !== 'field-invalid' ? problemTitle(problem) : ''

/** The title of a refusal names what is missing already where it is one thing; all of it where it is more. */
function missingWords(problem: Problem): string {
  const missing = missingOf(problem).map((one) => one.words)
  const said = problem.detail ?? ''
  const rest = missing.filter((words) => !said.includes(words))
  return rest.length ? `Missing: ${rest.join('; ')}.` : ''
}

export function problemTodo(problem: Problem): string {
  const missing = missingWords(problem)
  if (missing) return missing
  if (missingOf(problem).length) return 'Correct it and send again.'
  if (problem.hint) return problem.hint
  const known = REMEDY[problem.code]
  if (known !== undefined) return known
  if (problem.status >= 500) return 'The server had a fault. Try again in a minute. Safe to send again.'
  if (problem.status === 403) return REMEDY['not-allowed'] ?? ''
  return 'Correct it and send again.'
}

/** What is wrong and what to do about it, as a notice shows it. */
export const problemWords = (problem: Problem) => ({
  title: problemTitle(problem),
  todo: problemTodo(problem),
})
