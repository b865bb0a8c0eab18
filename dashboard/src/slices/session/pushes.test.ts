import { afterEach, describe, expect, it, vi } from 'vitest'
import { bytes, changesFor, DENIED, givenBy, notHere, subscribe } from './pushes'

afterEach(() => vi.unstubAllGlobals())

/** A browser that can do what is said of it. */
function browser(permission: NotificationPermission, made?: () => PushSubscriptionJSON) {
  const unsubscribe = vi.fn(async () => true)
  const pushManager = {
    getSubscription: async () => ({ unsubscribe }),
    subscribe: vi.fn(async () => {
      if (!made) throw new DOMException('no push service', 'AbortError')
      return { toJSON: made }
    }),
  }
  vi.stubGlobal('navigator', { serviceWorker: { getRegistration: async () => ({ pushManager }) } })
  vi.stubGlobal('Notification', { permission, requestPermission: async () => permission })
  vi.stubGlobal('window', { PushManager: {}, Notification: {} })
  return { pushManager, unsubscribe }
}
const whole = { endpoint: 'https://push.example/x', keys: { p256dh: 'p', auth: 'a' } }

describe('notices on this phone', () => {
  it('are offered only where the browser can show them and was not told not to', () => {
    browser('default')
    expect(notHere()).toBe('')
    browser('denied')
    expect(notHere()).toBe(DENIED)
    vi.stubGlobal('window', {})
    expect(notHere()).toMatch(/cannot show notices/)
  })
  it('take a new subscription, in the place of one that somebody else may have had', async () => {
    const { pushManager, unsubscribe } = browser('granted', () => whole)
    expect(await subscribe('AQID')).toEqual({ ok: true, given: { ...whole.keys, endpoint: whole.endpoint } })
    expect(unsubscribe).toHaveBeenCalledOnce()
    expect(pushManager.subscribe).toHaveBeenCalledWith({
      userVisibleOnly: true,
      applicationServerKey: new Uint8Array([1, 2, 3]),
    })
  })
  it('say why there are none: the person said no, or the browser has no push service', async () => {
    const { pushManager } = browser('denied', () => whole)
    expect(await subscribe('AQID')).toEqual({ ok: false, why: DENIED })
    expect(pushManager.subscribe).not.toHaveBeenCalled()
    browser('granted')
    expect(await subscribe('AQID')).toMatchObject({ ok: false, why: expect.stringMatching(/push service/) })
    browser('granted', () => ({ endpoint: 'https://push.example/x' }))
    expect(await subscribe('AQID')).toMatchObject({ ok: false })
    expect(givenBy({ endpoint: '', keys: { p256dh: 'p', auth: 'a' } })).toBeNull()
  })
  it('read a key as browsers write it, and tell of what gets worse', () => {
    expect(bytes('-_8')).toEqual(new Uint8Array([251, 255]))
    expect(changesFor(false)).toEqual(['rig_falls', 'district_short'])
    expect(changesFor(true)).toHaveLength(4)
  })
})
