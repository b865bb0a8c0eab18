// Who uses this browser. It opens from what the phone keeps, then asks the server; nobody sees or sends what is another's.
import { uuid7, type Reply } from 'fullset-client'
import { wire } from '@/api/client'
import type { Agency, Half, Problem, Session } from '@/api/types'
import { onPhone } from '@/ui/width'
import { disk, type Op } from './disk'
import { feed } from './feed.svelte'
import { COPY_GOES, endSession, forget, forgetAll } from './forget'
import { goLive } from './live'
import { outbox } from './outbox.svelte'
import { phone } from './phone.svelte'
import { SENDING, type Item, type KeptSession } from './queue'
import { world } from './world.svelte'

type Stage = 'asking' | 'out' | 'in' | 'unreachable'
const CHANNEL = 'fullset-session'

class SignedIn {
  stage = $state<Stage>('asking')
  /** Nobody has signed in here before, as far as is kept: the form need not wait for the server's answer. */
  isNew = $state(false)
  current = $state<Session | null>(null)
  problem = $state<Problem | null>(null)
  /** The first half of a sign-in is done, the password was right; this is missing. */
  half = $state.raw<Half | null>(null)
  /** While the person is asked: how many acts would be lost by signing out. */
  wouldLose = $state(0)
  /** Signed out and wiped, and the server has not heard of it yet. */
  unheard = $state(false)
  /** After a sign-in that the server ended: whose acts wait here, and how many. */
  left = $state.raw<{ name: string; count: number }[]>([])
  #stopLive: (() => void) | null = null
  #channel = typeof BroadcastChannel === 'undefined' ? null : new BroadcastChannel(CHANNEL)

  constructor() {
    wire.onSignedOut = () => void this.#ended()
    wire.onRevoked = () => void this.#revoked()
    if (this.#channel) {
      this.#channel.onmessage = (message: MessageEvent<string>) => {
        if (message.data === 'out') void this.#leave()
        if (message.data === 'in') void this.ask()
      }
    }
  }

  get member() {
    return this.current?.member ?? null
  }
  get device() {
    return this.current?.member ? null : (this.current?.device ?? null)
  }
  /** Whose outbox and copy this is: the member's, or the shared tablet's. */
  get owner(): string {
    return this.current ? ownerOf(this.current) : ''
  }
  /** The live agency record, so that a change of units or zone shows; the sign-in copy until it arrives. */
  get agency() {
    return world.all('agency')[0] ?? (this.current?.agency as Agency | undefined) ?? null
  }
  get units(): 'us' | 'si' {
    return this.agency?.units ?? 'us'
  }
  may(kind: string): boolean {
    const open: readonly string[] = this.current?.may ?? []
    return open.includes(kind)
  }

  /** Opens from the disk at once, then asks the server who this is. */
  async ask() {
    const store = await disk()
    const kept = await store.get<KeptSession<Session>>('meta', 'session')
    this.isNew = store.lasting && !kept
    if (kept?.left && !(await this.#told())) return void (this.stage = 'out')
    if (this.stage === 'asking' && kept && !kept.ended) await this.#enter(kept.session)
    const reply = await wire.who()
    if (reply.ok) {
      await this.#keep(reply.data)
      return this.#enter(reply.data)
    }
    if (reply.problem.status === 401) return this.stage === 'out' ? undefined : this.#ended()
    this.problem = reply.problem
    if (this.stage !== 'in') this.stage = 'unreachable'
  }

  signIn(email: string, password: string): Promise<Problem | null> {
    return this.open(() => wire.signIn(email, password))
  }

  /** Signs this browser in with the code of an enrolment. */
  async redeem(code: string, name: string): Promise<Problem | null> {
    const store = await disk()
    const id = (await store.get<string>('meta', 'device')) ?? uuid7()
    await store.write([{ put: 'meta', key: 'device', value: id }])
    return this.open(() => wire.redeem(code, { id, name }))
  }

  /** Ends the sign-in and wipes what this browser keeps of it, also without a signal: the server then hears of it before anybody is
   *  let in again. With waiting acts the person is asked first. */
  async signOut(lose = false): Promise<Problem | null> {
    const unsent = outbox.items.filter((i) => i.state !== 'sent').length + outbox.photosWaiting
    this.wouldLose = lose ? 0 : unsent
    if (this.wouldLose) return null
    const reply = await wire.signOut()
    const status = reply.ok ? 401 : reply.problem.status
    const store = await disk()
    // What outlives no tab cannot remember it.
    this.unheard = store.lasting && (!status || status >= 500)
    if (!reply.ok && !this.unheard && status !== 401) return reply.problem
    const { owner } = this
    // Nothing is shown as signed out before it is gone from here.
    this.#close()
    await forget(store, owner)
    await this.#leave()
    if (this.unheard) await store.write([{ put: 'meta', key: 'session', value: { ended: true, left: true } }])
    forgetHints()
    this.#channel?.postMessage('out')
    return null
  }

  /** Signs out and wipes this phone, waiting acts included; the person has been asked. */
  async wipe(): Promise<Problem | null> {
    return this.signOut(true)
  }

  /** Tells the server of a sign-out that it has not heard of, whose cookies would let the next person in. */
  async #told(): Promise<boolean> {
    const reply = await wire.signOut()
    this.unheard = !reply.ok && reply.problem.status !== 401
    if (!this.unheard) await (await disk()).write([{ delete: 'meta', key: 'session' }])
    return !this.unheard
  }

  /** Nothing is sent while the cookies change hands: one member's acts never go out under another's name. */
  async open(signIn: () => Promise<Reply<unknown>>): Promise<Problem | null> {
    let problem: Problem | null = null
    let half: Half | null = null
    await underLock(async () => {
      if (this.unheard) await this.#told()
      const reply = await signIn()
      if (!reply.ok) return void (problem = reply.problem)
      half = halfOf(reply.data)
      if (half) return
      const who = await wire.who()
      if (who.ok) await this.#keep(who.data)
      else problem = who.problem.status === 401 ? NO_SESSION : who.problem
    })
    if (problem) return problem
    this.half = half
    if (half) return null
    await this.ask()
    this.#channel?.postMessage('in')
    return this.stage === 'in' ? null : (this.problem ?? NO_SESSION)
  }

  async #keep(session: Session) {
    const store = await disk()
    const owner = ownerOf(session)
    const before = await store.get<KeptSession>('meta', 'session')
    const ops: Op[] = []
    // Another member starts from nothing; what the one before had queued stays for them.
    if (before && before.owner !== owner) ops.push(...COPY_GOES)
    const value: KeptSession<Session> = { owner, session: $state.snapshot(session), ended: false }
    ops.push({ put: 'meta', key: 'session', value })
    this.unheard = false
    await store.write(ops)
  }

  async #enter(session: Session) {
    const owner = ownerOf(session)
    const same = this.stage === 'in' && this.owner === owner
    if (!same) this.#close()
    this.current = session
    this.left = []
    this.problem = null
    if (same) return
    // A desk keeps the whole agency; a phone in a basement, or a station's tablet, begins with its own station.
    const small = onPhone()
    await phone.open(owner, session.device?.station ?? (small ? session.member?.station : null) ?? null)
    await outbox.open(owner, session.member?.name ?? session.device?.name ?? 'this tablet')
    await feed.open(owner, phone.scope)
    this.stage = 'in'
    this.#stopLive ??= goLive()
    // A tablet must know who may sign before the signal goes.
    if (this.device) void import('./sign').then(({ refreshSigners }) => refreshSigners())
  }

  /** The server ended the sign-in. Everything stays on the phone; somebody has to sign in before it is shown or sent. */
  async #ended() {
    await endSession(await disk())
    await this.#leave()
  }

  /** Somebody took this device out of the agency: nothing stays on it. */
  async #revoked() {
    this.#close()
    await forgetAll(await disk())
    forgetHints()
    await this.#leave()
    this.problem = REVOKED
    this.#channel?.postMessage('out')
  }

  async #leave() {
    this.#close()
    this.current = null
    this.wouldLose = 0
    this.stage = 'out'
    const counts = new Map<string, number>()
    for (const { state, ownerName } of await (await disk()).all<Item>('outbox'))
      if (state !== 'sent') counts.set(ownerName, (counts.get(ownerName) ?? 0) + 1)
    this.left = [...counts].map(([name, count]) => ({ name, count }))
  }

  #close() {
    this.#stopLive?.()
    this.#stopLive = null
    outbox.close()
    world.forget()
  }
}

const halfOf = (data: unknown) =>
  data && typeof data === 'object' && 'ticket' in data ? (data as Half) : null
const ownerOf = (who: Session) => who.member?.id ?? who.device?.id ?? ''
const NO_SESSION: Problem = { code: 'no-session', title: 'The browser kept no session', status: 0 }
const REVOKED: Problem = {
  code: 'device-revoked',
  title: 'This device was taken out of the agency. Everything it kept was wiped.',
  hint: 'Ask an officer for a new code.',
  status: 401,
}
/** Small choices that screens keep beside the disk. */
function forgetHints() {
  try {
    localStorage.clear()
  } catch {
    // Storage is closed: then nothing is in it either.
  }
}

async function underLock(work: () => Promise<void>): Promise<void> {
  const locks = typeof navigator === 'undefined' ? null : navigator.locks
  await (locks ? locks.request(SENDING, work) : work())
}

export const session = new SignedIn()
