// The browser's side of notices: whether it can show them, and the subscription that it gives away (Push API, RFC 8291).
import type { ChangeKind } from '@/api/types'

/** Why this browser gets none, as far as it is known before it is asked; empty: it can be asked. */
export function notHere(): string {
  if (!('serviceWorker' in navigator) || !('PushManager' in window) || !('Notification' in window))
    return 'This browser cannot show notices. On an iPhone or iPad put Fullset on the home screen first, and open it from there.'
  if (Notification.permission === 'denied') return DENIED
  return ''
}
export const DENIED =
  'This browser was told to show no notices from here. Allow them for this site in the settings of the browser or the phone, then open this page again.'

export interface Given {
  endpoint: string
  p256dh: string
  auth: string
}
type Asked = { ok: true; given: Given } | { ok: false; why: string }

/** A key in base64url as bytes. */
export const bytes = (text: string) =>
  Uint8Array.from(atob(text.replace(/-/g, '+').replace(/_/g, '/')), (sign) => sign.charCodeAt(0))

/** What the service is sent of a browser's subscription; none where the browser left something out. */
export function givenBy({ endpoint, keys }: PushSubscriptionJSON): Given | null {
  const { p256dh, auth } = keys ?? {}
  return endpoint && p256dh && auth ? { endpoint, p256dh, auth } : null
}

const manager = async () => (await navigator.serviceWorker.getRegistration())?.pushManager

/** Asks the person, then the browser. What somebody else on this phone had is given up first, so that nobody's notices go on. */
export async function subscribe(publicKey: string): Promise<Asked> {
  if ((await Notification.requestPermission()) !== 'granted') return { ok: false, why: DENIED }
  const own = await manager()
  if (!own)
    return { ok: false, why: 'The app is not kept on this phone yet. Load this page again, then try again.' }
  try {
    await (await own.getSubscription())?.unsubscribe()
    const made = await own.subscribe({ userVisibleOnly: true, applicationServerKey: bytes(publicKey) })
    const given = givenBy(made.toJSON())
    if (given) return { ok: true, given }
  } catch {
    // Said below.
  }
  return {
    ok: false,
    why: 'The browser got no address for notices from its own push service. Try again where there is a signal; some browsers have none.',
  }
}

/** Whether the browser still has what it gave away. */
export const has = async () => Boolean(await (await manager())?.getSubscription())

export async function giveUp() {
  await (await (await manager())?.getSubscription())?.unsubscribe()
}

/** What a phone is told of: what gets worse, and what gets better where that was asked for. */
export const changesFor = (better: boolean): ChangeKind[] => [
  'rig_falls',
  'district_short',
  ...(better ? (['rig_rises', 'district_enough'] as const) : []),
]
