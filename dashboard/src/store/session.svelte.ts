import { ask, whenSignedOut, wire } from '@/api/client'
import type { Problem, Session } from '@/api/types'
import { useZone } from '@/words/time'
import { goLive } from './live'
import { world } from './world.svelte'

type Stage = 'asking' | 'out' | 'in' | 'unreachable'
const CHANNEL = 'fullset-session'

class SignedIn {
  stage = $state<Stage>('asking')
  current = $state<Session | null>(null)
  problem = $state<Problem | null>(null)
  #stopLive: (() => void) | null = null
  #channel = typeof BroadcastChannel === 'undefined' ? null : new BroadcastChannel(CHANNEL)

  constructor() {
    whenSignedOut(() => this.#leave())
    if (this.#channel) {
      this.#channel.onmessage = (message: MessageEvent<string>) => {
        if (message.data === 'out') this.#leave()
        if (message.data === 'in' && this.stage !== 'in') void this.ask()
      }
    }
  }

  get member() {
    return this.current?.member ?? null
  }
  /** The live agency record, so that a change of units or zone shows; the sign-in copy until it arrives. */
  get agency() {
    return world.all('agency')[0] ?? this.current?.agency ?? null
  }
  get units(): 'us' | 'si' {
    return this.agency?.units ?? 'us'
  }
  may(kind: string): boolean {
    return this.current?.may.includes(kind) ?? false
  }

  async ask() {
    const reply = await ask(wire.GET('/v1/session'))
    if (reply.ok) return this.#enter(reply.data)
    this.problem = reply.problem.status === 401 ? null : reply.problem
    this.stage = reply.problem.status === 401 ? 'out' : 'unreachable'
  }

  async signIn(email: string, password: string): Promise<Problem | null> {
    const reply = await ask(wire.POST('/v1/session', { body: { email, password, browser: true } }))
    if (!reply.ok) return reply.problem
    await this.ask()
    if (this.stage !== 'in')
      return this.problem ?? { code: 'no-session', title: 'The browser kept no session', status: 0 }
    this.#channel?.postMessage('in')
    return null
  }

  async signOut() {
    const reply = await ask(wire.DELETE('/v1/session'))
    if (!reply.ok && reply.problem.status !== 401) return reply.problem
    this.#channel?.postMessage('out')
    this.#leave()
    return null
  }

  #enter(session: Session) {
    this.current = session
    useZone(session.agency.time_zone)
    this.problem = null
    this.stage = 'in'
    this.#stopLive ??= goLive()
  }

  #leave() {
    this.#stopLive?.()
    this.#stopLive = null
    this.current = null
    world.forget()
    this.stage = 'out'
  }
}

export const session = new SignedIn()
