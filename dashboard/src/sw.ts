// The worker: keeps the app itself on the phone, and sends what waits when no tab is open. It never keeps an answer of the API.
import { Client } from 'fullset-client'
import { disk } from './store/disk'
import { endSession, forgetAll } from './store/forget'
import { drain, SENDING, type KeptSession } from './store/queue'

declare const __SHELL__: { version: string; files: string[]; later: string[] }
interface WorkEvent extends Event {
  waitUntil(work: Promise<unknown>): void
  request: Request
  respondWith(answer: Promise<Response>): void
  tag: string
  data: unknown
}
interface PushedEvent extends WorkEvent {
  data: { json(): unknown } | null
}
interface ClickedEvent extends WorkEvent {
  notification: Notification
}
interface Worker {
  addEventListener(name: string, then: (event: WorkEvent) => void): void
  skipWaiting(): Promise<void>
  clients: {
    claim(): Promise<void>
    matchAll(what: { type: string }): Promise<Tab[]>
    openWindow(path: string): Promise<unknown>
  }
  registration: ServiceWorkerRegistration
}
/** An open tab of ours, as a worker sees it. */
interface Tab {
  postMessage(what: unknown): void
  focus(): Promise<Tab>
}
const worker = self as unknown as Worker

const PREFIX = 'fullset-shell-'
const CACHE = PREFIX + __SHELL__.version
const PAGE = '/'

worker.addEventListener('install', (event) => event.waitUntil(install()))
worker.addEventListener('activate', (event) => event.waitUntil(activate()))
worker.addEventListener('fetch', (event) => {
  const { request } = event
  const { origin, pathname } = new URL(request.url)
  if (request.method !== 'GET' || origin !== location.origin) return
  const ours = request.mode === 'navigate' ? !isServers(pathname) : isKept(pathname)
  if (ours) event.respondWith(answer(request, pathname))
})
worker.addEventListener('message', (event) => {
  if (event.data === 'take over') event.waitUntil(worker.skipWaiting())
  if (event.data === 'idle') event.waitUntil(keepLater())
})
worker.addEventListener('sync', (event) => {
  if (event.tag === SENDING) event.waitUntil(send())
})

// A notice of the service: which rig, how it stands, and what its grade lacks (`slices/alerts/letter.rs`).
worker.addEventListener('push', (event) => event.waitUntil(show((event as PushedEvent).data)))
worker.addEventListener('notificationclick', (event) => {
  const { notification } = event as ClickedEvent
  notification.close()
  event.waitUntil(open(pathOf(notification.data)))
})

const SERVERS = [
  '/v1/',
  '/docs',
  '/acknowledge',
  '/desk',
  '/openapi.json',
  '/livez',
  '/healthz',
  '/readyz',
  '/ca.crt',
]
const isServers = (path: string) => SERVERS.some((start) => path.startsWith(start))
const isKept = (path: string) => __SHELL__.files.includes(path) || __SHELL__.later.includes(path)

/** A browser asks that whatever comes is shown; what cannot be read says at least that something has changed. */
async function show(data: PushedEvent['data']) {
  let notice: Partial<Record<'title' | 'body' | 'path' | 'tag', unknown>> = {}
  try {
    notice = (data?.json() ?? {}) as typeof notice
  } catch {
    // Nothing of ours.
  }
  const words = (value: unknown, other: string) => (typeof value === 'string' && value ? value : other)
  await worker.registration.showNotification(words(notice.title, 'Fullset'), {
    body: words(notice.body, 'Something has changed. Open the board.'),
    tag: words(notice.tag, 'fullset'),
    icon: '/icon-192.png',
    data: notice.path,
  })
}

/** A page of ours and no other. */
const pathOf = (said: unknown) => (typeof said === 'string' && /^\/(?!\/)/.test(said) ? said : PAGE)

/** To the page of a notice: in the tab that is open, else in one of its own. That somebody has seen it, they say there. */
async function open(path: string) {
  const [tab] = await worker.clients.matchAll({ type: 'window' })
  if (!tab) return void (await worker.clients.openWindow(path))
  await tab.focus().catch(() => tab)
  tab.postMessage({ open: path })
}

/** All or nothing: when one file does not come the old version goes on. Parts with a hash in their name are taken over. */
async function install() {
  const cache = await caches.open(CACHE)
  await Promise.all(
    __SHELL__.files.map(async (path) => {
      const hashed = path.startsWith('/assets/')
      const known = hashed ? await caches.match(path) : undefined
      const response = known ?? (await fetch(path, { cache: hashed ? 'default' : 'reload' }))
      if (!response.ok) throw new Error(`${path} answered ${response.status}`)
      await cache.put(path, response)
    }),
  )
  for (const path of __SHELL__.later) {
    const known = await caches.match(path)
    if (known) await cache.put(path, known)
  }
}

async function activate() {
  const names = await caches.keys()
  const old = names.filter((name) => name.startsWith(PREFIX) && name !== CACHE)
  await Promise.all(old.map((name) => caches.delete(name)))
  await worker.clients.claim()
}

/** Large parts that not everybody needs at once: fetched when the page has nothing else to do, so that they work offline. */
async function keepLater() {
  const cache = await caches.open(CACHE)
  for (const path of __SHELL__.later) {
    if (await cache.match(path)) continue
    const response = await fetch(path).catch(() => null)
    if (response?.ok) await cache.put(path, response)
  }
}

async function answer(request: Request, path: string): Promise<Response> {
  const cache = await caches.open(CACHE)
  const known = await cache.match(request.mode === 'navigate' ? PAGE : path)
  if (known) return known
  const response = await fetch(request)
  if (response.ok && __SHELL__.later.includes(path)) await cache.put(path, response.clone())
  return response
}

/** An open tab sends, so that it shows what happens. Throwing asks the browser to try again later. */
async function send() {
  const tabs = await worker.clients.matchAll({ type: 'window' })
  if (tabs[0]) return tabs[0].postMessage('send')
  const store = await disk()
  const kept = await store.get<KeptSession>('meta', 'session')
  if (!kept || kept.ended) return
  const client = new Client()
  client.onSignedOut = () => void endSession(store)
  client.onRevoked = () => void forgetAll(store)
  const problem = await navigator.locks.request(SENDING, () => drain(store, client, kept.owner))
  if (problem && problem.status !== 401) throw new Error(problem.title)
}
