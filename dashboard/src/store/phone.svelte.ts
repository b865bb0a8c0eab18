// This phone: which part of the agency it keeps, whether the browser lets it keep, and whether a newer app is ready.
import { router } from '@/ui/router.svelte'
import { disk } from './disk'
import { feed } from './feed.svelte'
import { SENDING } from './queue'

const QUIET_MS = 5_000

interface Choice {
  station: string | null
}
/** The browser's offer to install; only some have it. */
interface InstallEvent extends Event {
  prompt(): Promise<unknown>
}

class Phone {
  /** The station whose data this phone keeps; null is the whole agency. */
  station = $state<string | null>(null)
  scope = $state('agency')
  persisted = $state<'unknown' | 'asked' | 'yes' | 'no'>('unknown')
  onDisk = $state(false)
  update = $state(false)
  canInstall = $state(false)
  #owner = ''
  #forms = $state(0)
  #install: InstallEvent | null = null
  #worker: ServiceWorkerRegistration | null = null

  get lastSynced(): number | null {
    return feed.lastSynced
  }
  /** Offered only while no form is open: a reload would lose what is written there. */
  get offersUpdate(): boolean {
    return this.update && this.#forms === 0
  }

  async open(owner: string, station: string | null): Promise<void> {
    // The station was taken out of the register: the whole agency is what is left.
    feed.onScopeGone = () => void this.keep(null)
    const store = await disk()
    this.onDisk = store.lasting
    this.#owner = owner
    const chosen = await store.get<Choice>('meta', `phone:${owner}`)
    this.#set(chosen ? chosen.station : station)
    if (store.lasting && (await navigator.storage?.persisted?.())) this.persisted = 'yes'
  }

  /** Keeps another station, or the whole agency; a new snapshot takes the place of the old one when it is complete. */
  async keep(station: string | null): Promise<void> {
    await (
      await disk()
    ).write([{ put: 'meta', key: `phone:${this.#owner}`, value: { station } satisfies Choice }])
    this.#set(station)
    await feed.open(this.#owner, this.scope)
    await feed.sync()
  }

  #set(station: string | null) {
    this.station = station
    this.scope = station ? `station:${station}` : 'agency'
  }

  /** Asked once something waits here: the browser should not throw it away when space gets short. */
  async askToPersist(): Promise<void> {
    if (this.persisted !== 'unknown' || !this.onDisk || !navigator.storage?.persist) return
    this.persisted = 'asked'
    this.persisted = (await navigator.storage.persist().catch(() => false)) ? 'yes' : 'no'
  }

  /** Where the browser can: the worker sends later, also when no tab is open. */
  askForSync() {
    type Syncing = ServiceWorkerRegistration & { sync?: { register(tag: string): Promise<void> } }
    void (this.#worker as Syncing | null)?.sync?.register(SENDING).catch(() => {})
  }

  busyForm(): () => void {
    this.#forms++
    let open = true
    return () => {
      if (open) this.#forms--
      open = false
    }
  }

  async install(): Promise<void> {
    await this.#install?.prompt()
    this.canInstall = false
  }

  /** Starts the worker where there may be one, and listens for what it says. */
  start(send: () => void): void {
    addEventListener('beforeinstallprompt', (event) => {
      event.preventDefault()
      this.#install = event as InstallEvent
      this.canInstall = true
    })
    if (!('serviceWorker' in navigator) || import.meta.env.DEV) return
    navigator.serviceWorker.addEventListener('message', (event) => {
      if (event.data === 'send') send()
      // A notice was pressed: its page, in the tab that is open.
      if (typeof event.data?.open === 'string') router.go(event.data.open)
    })
    // The first worker of a page takes over quietly; a later one means that another tab took the new version.
    let had = navigator.serviceWorker.controller !== null
    navigator.serviceWorker.addEventListener('controllerchange', () => {
      if (this.#reloading) location.reload()
      else if (had) this.update = true
      had = true
    })
    void this.#register()
  }

  #reloading = false
  /** Lets the new version take over, then loads the page with it. */
  reload(): void {
    const waiting = this.#worker?.waiting
    if (!waiting) return location.reload()
    this.#reloading = true
    waiting.postMessage('take over')
  }

  async #register(): Promise<void> {
    try {
      const worker = await navigator.serviceWorker.register('/sw.js', { updateViaCache: 'none' })
      this.#worker = worker
      const ready = () => {
        if (worker.waiting && navigator.serviceWorker.controller) this.update = true
      }
      ready()
      worker.addEventListener('updatefound', () => {
        worker.installing?.addEventListener('statechange', ready)
      })
      // Large parts are fetched when nothing else has to be, and not on a line that somebody pays for by the byte.
      const { connection } = navigator as Navigator & { connection?: { saveData?: boolean } }
      if (!connection?.saveData) {
        const idle = () => void navigator.serviceWorker.ready.then((r) => r.active?.postMessage('idle'))
        setTimeout(idle, QUIET_MS)
      }
      setInterval(() => void worker.update().catch(() => {}), 3_600_000)
    } catch {
      // Without a worker the app works while there is a signal.
    }
  }
}

export const phone = new Phone()
