// The outbox as screens see it: what waits on this phone, what came back, and what a person decides about it.
import { backoff, isLost, prepare, type Write } from 'fullset-client'
import { wire } from '@/api/client'
import type { Command, Problem } from '@/api/types'
import { disk, type Disk } from './disk'
import { feed } from './feed.svelte'
import { phone } from './phone.svelte'
import type { ActingMember } from './signing.svelte'
import * as queue from './queue'
import type { Item, Photo } from './queue'
import { world } from './world.svelte'

export type { Item } from './queue'
export const keptWords = 'Kept on this phone; it goes when the signal is back.'

export interface PutOptions {
  /** Hashes of kept photos that the first command names. */
  photos?: string[] | undefined
  /** On a shared tablet: who does this. */
  signer?: ActingMember | undefined
}
type Where = 'waiting' | 'sending' | 'blocked' | 'refused' | 'conflict' | 'sent'

class Outbox {
  items = $state.raw<Item[]>([])
  sending = $state(false)
  /** Why sending stands still although the server answers. */
  fault = $state<Problem | null>(null)
  photosWaiting = $state(0)
  /** Photos that the server did not take. */
  photoFaults = $state.raw<Problem[]>([])
  /** Waiting acts of other members of this browser: kept for them, never shown or sent in this one's name. */
  others = $state.raw<{ name: string; count: number }[]>([])
  #who: { owner: string; ownerName: string } | null = null
  #channel: BroadcastChannel | null = null
  #retry: ReturnType<typeof setTimeout> | undefined
  #failures = 0
  #running: Promise<void> | null = null
  #again = false
  /** Answers of this tab's acts, until the screens have asked for them. */
  #answers = new Map<string, Item>()

  readonly #blocked = $derived(queue.blocked(this.items))
  readonly waiting = $derived(this.items.filter((i) => i.state === 'waiting').length)
  readonly refused = $derived(this.items.filter((i) => i.state === 'refused').length)
  readonly conflicts = $derived(this.items.filter((i) => i.state === 'conflict').length)

  async open(owner: string, ownerName: string): Promise<void> {
    this.#who = { owner, ownerName }
    feed.onNews = () => this.items.some((i) => i.state === 'sent') && void this.look()
    if (typeof BroadcastChannel !== 'undefined' && (await disk()).lasting) {
      this.#channel?.close()
      this.#channel = new BroadcastChannel(queue.SENDING)
      this.#channel.onmessage = () => void this.look()
    }
    await this.look()
  }

  close() {
    this.#who = null
    this.#channel?.close()
    this.#channel = null
    clearTimeout(this.#retry)
    this.fault = null
    this.#answers.clear()
    this.#show([], [], [])
  }

  /** Queues what a person did and tries to send it; answers as soon as it is kept. */
  async put(words: string, writes: Write[], options: PutOptions = {}): Promise<Item[]> {
    const who = this.#who
    if (!who) throw new Error('nobody is signed in')
    let commands: Command[] = prepare(writes)
    let by: string | undefined
    if (options.signer) {
      const { signAll } = await import('./sign')
      const signed = await signAll(commands, options.signer, who.owner)
      commands = signed.commands
      by = signed.name
    }
    const items = await queue.enqueue(await disk(), { ...who, by }, words, commands, options.photos)
    await this.moved()
    void phone.askToPersist()
    void this.send()
    return items
  }

  /** How the items stand after they were tried, or after `patience` milliseconds. */
  async settle(items: Item[], patience: number): Promise<Item[]> {
    const late = new Promise<void>((resolve) => setTimeout(resolve, patience))
    await Promise.race([this.send(), late])
    const now = new Map(this.items.map((i) => [i.id, i]))
    // Gone already: the feed has brought what came of it.
    const stands = items.map(
      (i) => now.get(i.id) ?? this.#answers.get(i.id) ?? { ...i, state: 'sent' as const },
    )
    for (const { id } of items) this.#answers.delete(id)
    return stands
  }

  /** Tries to send now. One tab at a time sends; this one waits for its turn. */
  send(): Promise<void> {
    if (this.#running) {
      this.#again = true
      return this.#running
    }
    clearTimeout(this.#retry)
    const rounds = async () => {
      try {
        do {
          this.#again = false
          await this.#round()
        } while (this.#again)
      } finally {
        this.#running = null
      }
    }
    return (this.#running = rounds())
  }

  stateOf(item: Item): Where {
    if (item.state !== 'waiting') return item.state
    if (this.#blocked.has(item.id)) return 'blocked'
    return this.sending ? 'sending' : 'waiting'
  }
  stateWords(item: Item): string {
    return WORDS[this.stateOf(item)]
  }

  about(id: string): Item[] {
    return this.items.filter((i) => Object.values(i.command.body).includes(id))
  }

  /** Reads what stands on the disk; another tab or the worker may have changed it. */
  async look(): Promise<void> {
    const who = this.#who
    if (!who) return
    const store = await disk()
    const all = await store.all<Item>('outbox')
    const photos = await store.all<Photo>('photos')
    if (who !== this.#who) return
    const others = new Map<string, number>()
    for (const i of all)
      if (i.owner !== who.owner) others.set(i.ownerName, (others.get(i.ownerName) ?? 0) + 1)
    this.#show(
      all.filter((i) => i.owner === who.owner).sort((a, b) => a.seq - b.seq),
      photos.filter((p) => p.owner === who.owner && p.for.length),
      [...others].map(([name, count]) => ({ name, count })),
    )
  }

  #show(items: Item[], photos: Photo[], others: { name: string; count: number }[]) {
    this.items = items
    for (const item of items) if (item.state === 'sent') this.#answers.set(item.id, item)
    this.others = others
    this.photosWaiting = photos.filter((p) => !p.problem).length
    this.photoFaults = photos.flatMap((p) => (p.problem ? [p.problem] : []))
    world.lay(items.filter((i) => i.state === 'waiting' || i.state === 'sent'))
  }

  /** Something of it was changed on the disk: every tab looks. */
  async moved() {
    this.#channel?.postMessage('moved')
    await this.look()
  }

  async #round(): Promise<void> {
    const who = this.#who
    if (!who) return
    const store = await disk()
    await this.look()
    if (!this.items.some((i) => i.state === 'waiting') && !this.photosWaiting) return
    this.sending = true
    const before = this.items
    let problem: Problem | null
    try {
      // After a silence one small question first: an act that certainly did not leave can still be taken back.
      const silent = this.#failures > 0 || feed.link === 'off'
      problem = silent ? await unheard() : null
      problem ??= await alone(store, () => queue.drain(store, wire, who.owner, () => void this.moved()))
    } finally {
      this.sending = false
      await this.look()
    }
    if (who !== this.#who) return
    this.fault = problem && !isLost(problem) && problem.status !== 404 ? problem : null
    if (this.items.some((i) => i.state === 'sent') || this.items.length < before.length) await feed.sync()
    if (!problem) return void (this.#failures = 0)
    // Once for each spell without a signal: the browser may answer at once, and would be asked again and again.
    if (!this.#failures) phone.askForSync()
    this.#retry = setTimeout(
      () => void this.send(),
      Math.max((problem.retry_after ?? 0) * 1000, backoff(++this.#failures)),
    )
  }
}

/** Why nothing arrives, or null when the server answers, whatever it answers. */
async function unheard(): Promise<Problem | null> {
  const reply = await wire.who()
  return reply.ok || !isLost(reply.problem) ? null : reply.problem
}

async function alone<T>(store: Disk, work: () => Promise<T>): Promise<T> {
  const locks = store.lasting && typeof navigator !== 'undefined' ? navigator.locks : null
  return locks ? await locks.request(queue.SENDING, work) : work()
}

const WORDS: Record<Where, string> = {
  waiting: 'Waiting on this phone',
  sending: 'Sending',
  blocked: 'Waits for the one before it',
  refused: 'Not accepted',
  conflict: 'It changed meanwhile: choose',
  sent: 'Sent',
}

export const outbox = new Outbox()
