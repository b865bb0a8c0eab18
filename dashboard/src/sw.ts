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
interface Worker {
  addEventListener(name: string, then: (event: WorkEvent) => void): void
  skipWaiting(): Promise<void>
  clients: { claim(): Promise<void>; matchAll(what: { type: string }): Promise<Window[]> }
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
