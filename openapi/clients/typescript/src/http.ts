// Requests typed by generated.ts. Every answer is a value: the data, or the problem that says what to do.
import type { paths } from './generated'
import type { Half, Problem, Session, SignedByPasskey } from './types'

export type Reply<T> = { ok: true; data: T } | { ok: false; problem: Problem }

export const PROTOCOL = '1'
/** No answer came: there is no signal, or something in between swallowed it. */
export const NO_CONNECTION = 'no-connection'

type Verb = 'get' | 'post' | 'put' | 'patch' | 'delete'
type With<V extends Verb> = {
  [P in keyof paths]: paths[P] extends Record<V, unknown> ? P : never
}[keyof paths]
type Op<P extends keyof paths, V extends Verb> = paths[P][V]
type Loose<T> = object extends T ? { params?: T } : { params: T }
type Params<O> = O extends { parameters: infer X } ? Loose<Omit<X, 'cookie'>> : object
type Body<O> = O extends {
  requestBody: { content: { 'application/json': infer B } }
}
  ? { body: B }
  : O extends { requestBody?: { content: { 'application/json': infer B } } }
    ? { body?: B }
    : object
type Input<O> = Params<O> & Body<O> & { signal?: AbortSignal }
type Rest<O> = object extends Input<O> ? [input?: Input<O>] : [input: Input<O>]
type Content<R> = R extends { content: { 'application/json': infer J } } ? J : undefined
type Good = 200 | 201 | 202 | 204
export type Data<O> = O extends { responses: infer R }
  ? { [S in keyof R & Good]: Content<R[S]> }[keyof R & Good]
  : never

export interface Loosely {
  params?: { path?: object; query?: object; header?: object }
  /** JSON, or bytes as they are. */
  body?: unknown
  headers?: Record<string, string>
  signal?: AbortSignal
}

export interface Keys {
  access: string
  refresh: string
}
/** Where a program keeps its tokens. A browser has none: its cookies are not for scripts. */
export interface KeyStore {
  read(): Keys | null
  write(keys: Keys | null): void
}
/** Tokens that end with the program. */
export function ephemeral(): KeyStore {
  let kept: Keys | null = null
  return { read: () => kept, write: (keys) => void (kept = keys) }
}

export interface Options {
  base?: string
  keys?: KeyStore
  fetch?: typeof fetch
}
type Renewed = 'yes' | 'no' | 'unknown'

/** What opens a sign-in or goes on with one: a 401 there is not mended by a refresh. */
const OPENS = /^\/v1\/(session(\/refresh|\/code|\/passkey(\/start)?)?|enrolments\/redeem|links\/(look|use))$/
const REFRESHED_AT = 'fullset.refreshed_at'
const REFRESH_COUNTS_FOR_MS = 10_000

export class Client {
  /** The server no longer knows this sign-in and a refresh did not help. What is kept stays kept. */
  onSignedOut: () => void = () => {}
  /** This device was revoked: everything that it keeps has to go. */
  onRevoked: () => void = () => {}
  readonly #base: string
  readonly #keys: KeyStore | undefined
  readonly #fetch: typeof fetch
  #renewing: Promise<Renewed> | null = null

  constructor(options: Options = {}) {
    this.#base = options.base ?? ''
    this.#keys = options.keys
    this.#fetch = options.fetch ?? ((...all) => fetch(...all))
  }

  GET = <P extends With<'get'>>(path: P, ...[input]: Rest<Op<P, 'get'>>) =>
    this.any<Data<Op<P, 'get'>>>('GET', path, input)
  POST = <P extends With<'post'>>(path: P, ...[input]: Rest<Op<P, 'post'>>) =>
    this.any<Data<Op<P, 'post'>>>('POST', path, input)
  PATCH = <P extends With<'patch'>>(path: P, ...[input]: Rest<Op<P, 'patch'>>) =>
    this.any<Data<Op<P, 'patch'>>>('PATCH', path, input)
  DELETE = <P extends With<'delete'>>(path: P, ...[input]: Rest<Op<P, 'delete'>>) =>
    this.any<Data<Op<P, 'delete'>>>('DELETE', path, input)

  /** Any address of the service, also one that generated.ts does not know. */
  async any<T>(method: string, path: string, input: Loosely = {}): Promise<Reply<T>> {
    const { params, body, headers, signal } = input
    const bytes = body instanceof ArrayBuffer || body instanceof Uint8Array || body instanceof Blob
    const init: RequestInit = {
      method,
      headers: { ...(params?.header as object), ...headers },
    }
    if (signal) init.signal = signal
    if (bytes) init.body = body as BodyInit
    else if (body !== undefined) {
      init.body = JSON.stringify(body)
      init.headers = {
        'content-type': 'application/json',
        ...(init.headers as object),
      }
    }
    try {
      const response = await this.raw(address(path, params), init)
      if (!response.ok) return { ok: false, problem: await problemOf(response) }
      // An answer that breaks off in its middle is no answer: reading it throws.
      const text = await response.text()
      return { ok: true, data: (text ? JSON.parse(text) : undefined) as T }
    } catch (fault) {
      return { ok: false, problem: noConnection(fault) }
    }
  }

  /** A request with this sign-in; throws where `fetch` does. A spent session is renewed once. */
  async raw(path: string, init: RequestInit): Promise<Response> {
    const first = await this.#send(path, init)
    const opensSession = init.method === 'POST' && OPENS.test(path)
    if (first.status !== 401 || opensSession) return first
    const { code } = ((await first
      .clone()
      .json()
      .catch(() => null)) ?? {}) as { code?: string }
    if (code === 'device-revoked') {
      this.onRevoked()
      return first
    }
    const renewed = await this.#renew()
    if (renewed === 'no') this.onSignedOut()
    // Whether the sign-in still counts is not known: that is no answer, and no reason to sign in again.
    if (renewed === 'unknown') throw new TypeError('the sign-in could not be renewed now')
    return renewed === 'yes' ? this.#send(path, init) : first
  }

  /** Signs in, or answers which half is missing. */
  async signIn(email: string, password: string): Promise<Reply<Opened | Half>> {
    return this.open('/v1/session', { email, password })
  }

  /** The second half of a sign-in: a code of the authenticator, or a recovery code. */
  async giveCode(ticket: string, code: string): Promise<Reply<Opened | Half>> {
    return this.open('/v1/session/code', { ticket, code })
  }

  /** Signs in with what a passkey has signed: the whole, or the second half. */
  async givePasskey(signed: Omit<SignedByPasskey, 'browser'>): Promise<Reply<Opened | Half>> {
    return this.open('/v1/session/passkey', signed)
  }

  /** Sets the own password by a link, and signs in. */
  async useLink(secret: string, password: string): Promise<Reply<Opened | Half>> {
    return this.open('/v1/links/use', { secret, password })
  }

  private async open(path: string, body: object): Promise<Reply<Opened | Half>> {
    const reply = await this.any<Opened | Half>('POST', path, { body: { ...body, browser: !this.#keys } })
    return reply.ok && 'ticket' in reply.data ? reply : this.#took(reply as Reply<Opened>)
  }

  /** Signs in with an enrolment code; `id` is this device's own, made once. */
  async redeem(code: string, device: { id: string; name: string }): Promise<Reply<Opened>> {
    const body = { code, device, browser: !this.#keys }
    return this.#took(await this.any<Opened>('POST', '/v1/enrolments/redeem', { body }))
  }

  who = () => this.any<Session>('GET', '/v1/session')

  async signOut(): Promise<Reply<unknown>> {
    const body = this.#keys ? { refresh_token: this.#keys.read()?.refresh } : undefined
    const reply = await this.any('DELETE', '/v1/session', { body })
    if (reply.ok) this.#keys?.write(null)
    return reply
  }

  #took(reply: Reply<Opened>): Reply<Opened> {
    if (reply.ok && reply.data.access_token && reply.data.refresh_token)
      this.#keys?.write({
        access: reply.data.access_token,
        refresh: reply.data.refresh_token,
      })
    return reply
  }

  #send(path: string, init: RequestInit): Promise<Response> {
    const keys = this.#keys?.read()
    const headers: Record<string, string> = {
      'fullset-protocol': PROTOCOL,
      ...(init.headers as object),
    }
    if (keys) headers['authorization'] = `Bearer ${keys.access}`
    return this.#fetch(this.#base + path, {
      credentials: 'same-origin',
      cache: 'no-store',
      ...init,
      headers,
    })
  }

  /** One refresh at a time in this browser; the others wait for what it brings. */
  #renew(): Promise<Renewed> {
    this.#renewing ??= underLock(async (): Promise<Renewed> => {
      if (!this.#keys && Date.now() - lastRefresh() < REFRESH_COUNTS_FOR_MS) return 'yes'
      const body = this.#keys ? { refresh_token: this.#keys.read()?.refresh } : {}
      const ask = () => this.any<Opened>('POST', '/v1/session/refresh', { body })
      let reply = await ask()
      // A lost answer spends nothing: the same token has the same successor.
      if (!reply.ok && isLost(reply.problem)) reply = await ask()
      this.#took(reply)
      if (!reply.ok) {
        const { status, code } = reply.problem
        if (code === 'device-revoked') this.onRevoked()
        return status >= 400 && status < 500 && status !== 429 ? 'no' : 'unknown'
      }
      rememberRefresh()
      return 'yes'
    }).finally(() => {
      this.#renewing = null
    })
    return this.#renewing
  }
}

/** What opening a session answers; a browser gets no tokens. */
export type Opened = Session & {
  access_token?: string | null
  refresh_token?: string | null
}

function address(path: string, params: Loosely['params']): string {
  const names = (params?.path ?? {}) as Record<string, unknown>
  const filled = path.replace(/\{(\w+)\}/g, (_, name: string) => encodeURIComponent(String(names[name])))
  const query = new URLSearchParams()
  for (const [key, value] of Object.entries(params?.query ?? {})) {
    if (value !== undefined && value !== null) query.set(key, String(value))
  }
  const text = query.toString()
  return text ? `${filled}?${text}` : filled
}

export function noConnection(fault?: unknown): Problem {
  if (fault instanceof DOMException && fault.name === 'AbortError')
    return { code: 'stopped', title: 'Stopped', status: 0 }
  return {
    code: NO_CONNECTION,
    title: 'No connection to the server',
    status: 0,
  }
}

export async function problemOf(response: Response): Promise<Problem> {
  const { status, headers } = response
  const body: unknown = await response.json().catch(() => null)
  const problem: Problem = { code: `http-${status}`, title: `The server answered ${status}`, status }
  if (body && typeof body === 'object') Object.assign(problem, body, { status })
  const seconds = Number(headers.get('retry-after'))
  if (seconds > 0) problem.retry_after = seconds
  return problem
}

/** Nobody knows whether it arrived: no answer came, or one from something in between. */
export const isLost = ({ code, status }: Problem) =>
  code === NO_CONNECTION || (status >= 500 && status !== 507)

async function underLock<T>(work: () => Promise<T>): Promise<T> {
  const locks = typeof navigator === 'undefined' ? null : navigator.locks
  return locks ? ((await locks.request('fullset-refresh', work)) as T) : work()
}

// Tabs of one browser share its cookies: a refresh by another a moment ago counts. Storage may be closed, or missing in a
// worker; the only cost is a second refresh.
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
    // See above.
  }
}
