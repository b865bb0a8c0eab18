import { expect, type BrowserContext, type Page } from '@playwright/test'
import type { Capability, Change, ChangesPage, Defect, Piece, Rig } from '../src/api/types'

export const EMAIL = process.env['E2E_EMAIL'] ?? 'coordinator@vellmere.example'
export const PASSWORD = process.env['E2E_PASSWORD'] ?? 'fullset-demo'

type Cookies = Awaited<ReturnType<BrowserContext['cookies']>>
let kept: Cookies | null = null

/** Signs in; later tests go on with the first sign-in, because a server slows down who signs in too often. */
export async function signIn(page: Page, path = '/', fresh = false) {
  if (kept && !fresh) await page.context().addCookies(kept)
  await page.goto(path)
  const form = page.getByLabel('E-mail')
  await expect(form.or(page.getByRole('navigation', { name: 'Main' })).first()).toBeVisible()
  if (await form.isVisible()) {
    await expect(async () => {
      await form.fill(EMAIL)
      await page.getByLabel('Password').fill(PASSWORD)
      await page.getByRole('button', { name: 'Sign in' }).click()
      await expect(form).toBeHidden({ timeout: 2_000 })
    }).toPass({ intervals: [3_000], timeout: 25_000 })
    if (!fresh) kept = await page.context().cookies()
  }
  await expect(page.getByText('Live', { exact: true })).toBeVisible()
}

/** The whole feed, read in the page so that its session is used. */
export async function feed(page: Page): Promise<Change[]> {
  return page.evaluate(async () => {
    const all: Change[] = []
    let since = ''
    for (;;) {
      const url = `/v1/changes?scope=agency&limit=500${since ? `&since=${encodeURIComponent(since)}` : ''}`
      const body = (await (await fetch(url)).json()) as ChangesPage
      all.push(...body.changes)
      since = body.next
      if (!body.more) return all
    }
  })
}

export function records<T>(changes: Change[], kind: string): T[] {
  return changes.filter((c) => c.kind === kind && c.record).map((c) => ({ ...c.record, rev: c.rev }) as T)
}

/** A rig at full, and a piece whose loss alone drops it: the tests act on whatever agency the server holds. */
export async function fullRig(page: Page, slotHint = '') {
  const changes = await feed(page)
  const capabilities = records<Capability>(changes, 'capability')
  const pieces = new Map(records<Piece>(changes, 'piece').map((p) => [p.id, p]))
  const rigs = new Map(records<Rig>(changes, 'rig').map((r) => [r.id, r]))
  for (const capability of capabilities) {
    const rig = rigs.get(capability.id)
    const critical = capability.critical
      .map((id) => pieces.get(id))
      .find((p) => p && (!slotHint || p.kind === slotHint))
    if (rig && capability.level === 'full' && critical) return { rig, piece: critical, capability }
  }
  throw new Error('no full rig with a critical piece in this agency')
}

export async function command(page: Page, kind: string, body: Record<string, unknown>, expects?: number) {
  return page.evaluate(
    async ([k, b, e]) => {
      const id = `0193${Date.now().toString(16).padStart(12, '0').slice(-4)}-0000-7000-8000-${Math.random().toString(16).slice(2).padEnd(12, '0').slice(0, 12)}`
      const now = new Date().toISOString()
      const one: Record<string, unknown> = { id, kind: k, at: now, body: b }
      if (e !== undefined) one['expects'] = e
      const response = await fetch('/v1/commands', {
        method: 'POST',
        headers: { 'content-type': 'application/json' },
        body: JSON.stringify({ sent_at: now, commands: [one] }),
      })
      return ((await response.json()) as { answers: { outcome: string; problem?: unknown }[] }).answers[0]
    },
    [kind, body, expects] as const,
  )
}

/** Puts a piece back so that the next test finds the agency as it was. */
export async function giveBack(page: Page, id: string) {
  for (const d of records<Defect>(await feed(page), 'defect')) {
    if (d.piece === id && d.state === 'open') {
      await command(page, 'defect.close', { id: d.id, resolution: 'End of test' }, d.rev)
    }
  }
  const piece = records<Piece>(await feed(page), 'piece').find((p) => p.id === id)
  if (piece?.state === 'out_of_service') {
    await command(page, 'piece.return', { id, note: 'End of test' }, piece.rev)
  }
}

/** What an address answers to the member who is signed in on the page. */
export const answer = <T>(page: Page, path: string) =>
  page.evaluate(async (p) => (await (await fetch(p)).json()) as T, path)
