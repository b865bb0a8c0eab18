// Notices on a phone, as far as a browser without a window and a push service goes: the screen in each of its states, the worker that is
// told of a notice and opens its page, and the press that says that it was seen. Such a browser refuses all notices whatever the test
// grants: where the person would allow them and where the browser would ask its push service, the page is handed an answer with a real key,
// and what the worker would show is written down. Sealing, sending and what push services answer is held by `tests/slices/alerts/pushed.rs`.
import type { Page } from '@playwright/test'
import type { Alert, OwnSubscriptions } from '../src/api/types'
import { answer, command, fullRig, giveBack, originOf, signedIn } from './helpers'
import { readable, tooSmall } from './readable'
import { expect, test } from './test'

const PHONE = { width: 390, height: 844 }
/** The worker, with what it would show. */
interface Recorded {
  registration: ServiceWorkerRegistration
  shown: { title: string; body: string | undefined; tag: string | undefined; path: unknown }[]
}
declare const ExtendableEvent: typeof Event
test.use({ serviceWorkers: 'allow', viewport: PHONE })

const section = (page: Page) => page.getByRole('region', { name: 'Notices on this phone' })
const own = (page: Page) => answer<OwnSubscriptions>(page, '/v1/session/subscriptions')
const post = (page: Page, path: string, data: object) =>
  page.request.post(originOf(page) + path, { headers: { origin: originOf(page) }, data })

/** The person has allowed notices. */
async function allowed(page: Page) {
  await page.addInitScript(() => {
    Object.defineProperty(Notification, 'permission', { get: () => 'granted' })
    Notification.requestPermission = async () => 'granted'
  })
}
/** The browser gives away a subscription at an address that nobody answers at. */
async function withPushService(page: Page) {
  await page.addInitScript(() => {
    let given: PushSubscription | null = null
    PushManager.prototype.getSubscription = async () => given
    PushManager.prototype.subscribe = async () => {
      const pair = await crypto.subtle.generateKey({ name: 'ECDH', namedCurve: 'P-256' }, true, [
        'deriveBits',
      ])
      const point = new Uint8Array(await crypto.subtle.exportKey('raw', pair.publicKey))
      const text = (bytes: Uint8Array) =>
        btoa(String.fromCharCode(...bytes))
          .replaceAll('+', '-')
          .replaceAll('/', '_')
          .replaceAll('=', '')
      const auth = text(crypto.getRandomValues(new Uint8Array(16)))
      const endpoint = `https://push.tamarrow.example/${crypto.randomUUID()}`
      const made = { endpoint, keys: { p256dh: text(point), auth } }
      given = {
        toJSON: () => made,
        unsubscribe: async () => {
          given = null
          return true
        },
      } as unknown as PushSubscription
      return given
    }
  })
}
async function clear(page: Page) {
  for (const { id } of (await own(page)).items) await post(page, '/v1/session/subscriptions/remove', { id })
}

test('the screen says what stands in the way of notices, and what to do', async ({ page }) => {
  await signedIn(page)
  await page.goto('/account')
  const told = section(page)
  // A browser without a person to ask says no.
  await expect(told).toContainText('Not on this phone.')
  await expect(told).toContainText('Allow them for this site in the settings')
  await readable(page, 'notices on a phone that was told to show none', true)

  await allowed(page)
  await page.reload()
  await told.getByRole('button', { name: 'Switch on' }).click()
  await expect(told.getByRole('status')).toContainText(/own push service|not kept on this phone yet/)
  expect((await own(page)).items).toEqual([])

  await page.route('**/v1/session/subscriptions', async (route) => {
    const reply = await route.fetch()
    await route.fulfill({ response: reply, json: { ...(await reply.json()), public_key: null } })
  })
  await page.reload()
  await expect(told).toContainText('Notices to phones are switched off on this service.')
  await expect(told.getByRole('button')).toHaveCount(0)
})

test('a phone is switched on, told of a rig that falls, and its member says that it was seen', async ({
  page,
}) => {
  test.setTimeout(120_000)
  await allowed(page)
  await withPushService(page)
  await signedIn(page)
  await page.goto('/account')
  await clear(page)
  await page.reload()
  const told = section(page)
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => true))
  await told.getByLabel('Name, so that you know it again', { exact: true }).fill('Duty phone')
  await told.getByRole('button', { name: 'Switch on' }).click()
  await expect(told).toContainText('On since')
  await expect(told).toContainText('“Duty phone”')
  await expect(told).toContainText('rigs that can do less, districts that fall short.')
  expect((await own(page)).items).toMatchObject([{ name: 'Duty phone', this: true }])
  await readable(page, 'notices on this phone, switched on', true)
  expect(await tooSmall(page)).toEqual([])
  await told.getByRole('button', { name: 'Send a test' }).click()
  await expect(told.getByRole('status')).toContainText('The try did not go out', { timeout: 30_000 })

  const { rig, piece } = await fullRig(page)
  const out = await command(page, 'piece.take_out', { id: piece.id, reason: 'Bent' })
  expect(out?.outcome, JSON.stringify(out)).toBe('applied')
  try {
    const all = async () => (await answer<{ items: Alert[] }>(page, '/v1/alerts?state=open&limit=500')).items
    const alert = (await all()).find((one) => one.rig === rig.id && one.change === 'rig_falls')
    if (!alert) throw new Error('nobody was told')
    const mine = alert.told.find((one) => one.way === 'phone')
    expect(mine?.member).toBeTruthy()
    await page.goto(`/alerts/${alert.id}`)
    await expect(page.getByRole('heading', { level: 1 })).toHaveText(rig.name)
    await expect(page.getByRole('region', { name: 'What changed' })).toContainText(
      'Missing, or not to be used',
    )
    await readable(page, 'a change that a phone was told of', true)
    expect(await tooSmall(page)).toEqual([])
    // Opening it says nothing.
    const now = async () => await answer<Alert>(page, `/v1/alerts/${alert.id}`)
    expect((await now()).told.find((one) => one.way === 'phone')?.acknowledged).toBeNull()
    await page.getByRole('button', { name: 'I have seen it' }).click()
    await expect(page.getByText('You have seen it.', { exact: true })).toBeVisible()
    await expect
      .poll(async () => (await now()).told.find((one) => one.way === 'phone')?.acknowledged?.by.id)
      .toBe(mine?.member)
    await page.goto('/programme/dispatch')
    const line = page.getByRole('region', { name: 'What was told' }).getByRole('listitem')
    await expect(line.filter({ hasText: 'has seen it' }).first()).toContainText('by a notice on their phone')
  } finally {
    await giveBack(page, piece.id)
    await clear(page)
  }
})

test('the worker shows a notice that comes and opens its page, and no address elsewhere', async ({
  page,
  context,
}) => {
  test.setTimeout(90_000)
  await signedIn(page)
  await page.goto('/account')
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => true))
  const worker = context.serviceWorkers()[0] ?? (await context.waitForEvent('serviceworker'))
  const cdp = await context.newCDPSession(page)
  const registered = new Promise<string>((found) => {
    cdp.on('ServiceWorker.workerRegistrationUpdated', ({ registrations }) => {
      const id = registrations[0]?.registrationId
      if (id) found(id)
    })
  })
  await cdp.send('ServiceWorker.enable')
  const registrationId = await registered
  const push = (notice: object | string) =>
    cdp.send('ServiceWorker.deliverPushMessage', {
      origin: originOf(page),
      registrationId,
      data: typeof notice === 'string' ? notice : JSON.stringify(notice),
    })
  await worker.evaluate(() => {
    const own = self as unknown as Recorded
    own.shown = []
    own.registration.showNotification = async (title, options) => {
      own.shown.push({ title, body: options?.body, tag: options?.tag, path: options?.data as unknown })
    }
  })
  const shown = () => worker.evaluate(() => (self as unknown as Recorded).shown)
  /** Somebody presses the notice that was shown last. */
  const press = () =>
    worker.evaluate(() => {
      const data = (self as unknown as Recorded).shown.at(-1)?.path
      const event = new ExtendableEvent('notificationclick')
      self.dispatchEvent(Object.assign(event, { notification: { data, close() {} } }))
    })

  await push({ title: 'Engine 1: limited', body: 'Missing: Ram.', path: '/alerts/no-such-one', tag: 'a' })
  await expect
    .poll(shown)
    .toEqual([{ title: 'Engine 1: limited', body: 'Missing: Ram.', tag: 'a', path: '/alerts/no-such-one' }])
  await press()
  await expect(page).toHaveURL(/\/alerts\/no-such-one$/)

  await push({ title: 'Elsewhere', path: '//evil.example/', tag: 'b' })
  await expect.poll(async () => (await shown()).length).toBe(2)
  await press()
  await expect(page).toHaveURL(`${originOf(page)}/`)

  await push('no notice of ours')
  await expect.poll(async () => (await shown()).at(-1)?.body).toBe('Something has changed. Open the board.')
})
