// What a person can do about a problem, where the server did not say it itself.
import type { Problem } from '@/api/types'

/** What to do, by the server's code or our own `no-connection`. */
const REMEDY: Record<string, string> = {
  'no-connection': 'Check the signal, then try again. What was sent twice acts once.',
  'sign-in-failed': 'Check the e-mail address and the password, then try again.',
  'slow-down': '',
  'not-allowed': 'Your role may not do this. Ask an officer or the coordinator.',
  'out-of-reach': 'Ask an officer of that station, or the coordinator.',
  'resync-required': 'The page is fetching everything again by itself.',
}

export function problemTitle(problem: Problem): string {
  if (problem.code === 'sign-in-failed') return 'Sign-in failed'
  return problem.detail || problem.title || 'That did not work'
}

/** What a release lacks, where the refusal names it. */
function missingWords(problem: Problem): string {
  const missing = (problem as { missing?: { words: string }[] }).missing ?? []
  return missing.length ? `Missing: ${missing.map((one) => one.words).join('; ')}.` : ''
}

export function problemTodo(problem: Problem): string {
  const missing = missingWords(problem)
  if (missing) return missing
  if (problem.hint) return problem.hint
  const known = REMEDY[problem.code]
  if (known !== undefined) return known
  if (problem.status >= 500)
    return 'The server had a fault. Try again in a minute. What was sent twice acts once.'
  if (problem.status === 403) return REMEDY['not-allowed'] ?? ''
  return 'Correct it and send again.'
}
