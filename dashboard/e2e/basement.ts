import { expect } from '@playwright/test'
import { execSync, spawn, type ChildProcess } from 'node:child_process'
import { createServer, request as ask, type Server } from 'node:http'
import type { AddressInfo } from 'node:net'
import { BINARY, freshCounty } from './county'

const FILE = '../target/offline.sqlite'

/** The service, and in front of it a line that can be cut. */
export class Basement {
  #service: ChildProcess | null = null
  #door: Server
  #port = 0
  /** So many answers of commands are swallowed after the service gave them. */
  cut = 0
  swallowed = 0
  readonly uploads: string[] = []
  /** Every answer says that this device was revoked. */
  revoked = false
  /** Makes the worker's script a newer one. */
  newer = ''

  constructor() {
    this.#door = createServer((incoming, outgoing) => {
      const { method, url, headers } = incoming
      if (method === 'PUT' && url?.startsWith('/v1/photos/')) this.uploads.push(url)
      if (this.revoked && url?.startsWith('/v1/')) {
        outgoing.writeHead(401, { 'content-type': 'application/problem+json' })
        outgoing.end(JSON.stringify({ code: 'device-revoked', title: 'Revoked', status: 401 }))
        return
      }
      // Not compressed: what is written behind an answer must be readable.
      if (this.newer) {
        delete headers['accept-encoding']
        delete headers['if-none-match']
      }
      const onward = ask({ host: '127.0.0.1', port: this.#port, method, path: url, headers }, (answer) => {
        if (url === '/v1/commands' && this.cut > 0) {
          this.cut--
          answer.resume().on('end', () => {
            this.swallowed++
            outgoing.destroy()
          })
          return
        }
        const { 'content-length': length, ...others } = answer.headers
        if (url === '/sw.js' && this.newer) {
          outgoing.writeHead(answer.statusCode ?? 502, others)
          answer.on('end', () => outgoing.end(`\n//${this.newer}`)).pipe(outgoing, { end: false })
          return
        }
        outgoing.writeHead(answer.statusCode ?? 502, {
          ...others,
          ...(length ? { 'content-length': length } : {}),
        })
        answer.pipe(outgoing).on('close', () => answer.destroy())
      })
      onward.on('error', () => outgoing.destroy())
      outgoing.on('close', () => onward.destroy())
      incoming.pipe(onward)
    })
  }

  get url() {
    return `http://127.0.0.1:${(this.#door.address() as AddressInfo).port}`
  }
  async open() {
    // Told to the end before anything is stopped: a story that broke off would be a smaller county.
    execSync(freshCounty(FILE), { stdio: 'ignore' })
    await new Promise<void>((ready) => this.#door.listen(0, '127.0.0.1', ready))
    const free = createServer().listen(0, '127.0.0.1')
    await new Promise((ready) => free.once('listening', ready))
    this.#port = (free.address() as AddressInfo).port
    await new Promise((closed) => free.close(closed))
  }
  /** Starts the service, where it does not stand. */
  async start() {
    if (this.#service?.exitCode === null) return
    this.#service = spawn(BINARY, ['demo', '--file', FILE, '--listen', `127.0.0.1:${this.#port}`], {
      stdio: 'ignore',
    })
    await expect(async () => {
      expect((await fetch(`http://127.0.0.1:${this.#port}/healthz`)).status).toBe(200)
    }).toPass({ timeout: 60_000 })
  }
  /** As a power cut would. */
  async stop() {
    const service = this.#service
    if (!service || service.exitCode !== null) return
    const gone = new Promise((ended) => service.once('exit', ended))
    service.kill('SIGKILL')
    await gone
    this.#service = null
  }
  async close() {
    await this.stop()
    this.#door.closeAllConnections()
    await new Promise((closed) => this.#door.close(closed))
  }
}
