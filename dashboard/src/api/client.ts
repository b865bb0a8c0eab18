// The only file that calls fetch for JSON: the generated client, one refresh of a spent session, and problems as values.
import createClient from 'openapi-fetch'
import type { paths } from './generated'
import type { Problem } from './types'

export type Reply<T> = { ok: true; data: T } | { ok: false; problem: Problem }

export const NO_CONNECTION = 'no-connection'
const REFRESHED_AT = 'fullset.refreshed_at'
const REFRESH_COUNTS_FOR_MS = 10_000
const COMMON: RequestInit = { credentials: 'same-origin', cache: 'no-store' }

let onSignedOut: () => void = () => {}
/** Called when the server no longer knows this browser and a refresh did not help. */
export function whenSignedOut(then: () => void) {
  onSignedOut = then
}

export const wire = createClient<paths>({ ...COMMON, fetch: withSession })

/** Turns an answer of the generated client, or its failure to get one, into a value. */
export async function ask<T>(
  sent: Promise<{ data?: T; error?: unknown; response: Response }>,
): Promise<Reply<T>> {
  try {
    const { data, error, response } = await sent
    if (response.ok) return { ok: true, data: data as T }
    return { ok: false, problem: problemOf(error, response) }
  } catch (fault) {
    return { ok: false, problem: noConnection(fault) }
  }
}

/** For the one body that is not JSON: a file. */
export async function sendFile<T>(
  path: string,
  bytes: ArrayBuffer,
  headers: Record<string, string>,
): Promise<Reply<T>> {
  const read = async () => {
    const response = await withSession(new Request(path, { ...COMMON, method: 'POST', body: bytes, headers }))
    const body: unknown = await response.json().catch(() => undefined)
    return response.ok ? { data: body as T, response } : { error: body, response }
  }
  return ask(read())
}

async function withSession(request: Request): Promise<Response> {
  const again = request.clone()
  const response = await fetch(request)
  const { pathname } = new URL(request.url)
  const opensSession = pathname.startsWith('/v1/session') && request.method === 'POST'
  if (response.status !== 401 || opensSession) return response
  const refreshed = await refresh()
  if (refreshed === 'no') onSignedOut()
  return refreshed === 'yes' ? fetch(again) : response
}

function noConnection(fault: unknown): Problem {
  if (fault instanceof DOMException && fault.name === 'AbortError')
    return { code: 'stopped', title: 'Stopped', status: 0 }
  return { code: NO_CONNECTION, title: 'No connection to the server', status: 0 }
}

function problemOf(error: unknown, response: Response): Problem {
  const { status } = response
  const plain: Problem = { code: `http-${status}`, title: `The server answered ${status}`, status }
  return error && typeof error === 'object' ? { ...plain, ...error, status } : plain
}

let refreshing: Promise<'yes' | 'no' | 'unknown'> | null = null

/** One refresh at a time in this browser: the refresh token rotates, so two at once would sign the person out. */
function refresh() {
  refreshing ??= underLock(async () => {
    if (Date.now() - lastRefresh() < REFRESH_COUNTS_FOR_MS) return 'yes' as const
    const reply = await ask(wire.POST('/v1/session/refresh', { body: {} }))
    if (!reply.ok) {
      const { status } = reply.problem
      return status >= 400 && status < 500 && status !== 429 ? ('no' as const) : ('unknown' as const)
    }
    rememberRefresh()
    return 'yes' as const
  }).finally(() => {
    refreshing = null
  })
  return refreshing
}

async function underLock<T>(work: () => Promise<T>): Promise<T> {
  const locks = typeof navigator === 'undefined' ? null : navigator.locks
  return locks ? ((await locks.request('fullset-refresh', work)) as T) : work()
}

function lastRefresh(): number {
  try {
    return Number(localStorage.getItem(REFRESHED_AT) ?? 0)
  } catch {
    return 0
  }
}

function rememberRefresh() {
  try {
    localStorage.setItem(REFRESHED_AT, String(Date.now()))
  } catch {
    // Storage may be closed; the only cost is a second refresh.
  }
}
