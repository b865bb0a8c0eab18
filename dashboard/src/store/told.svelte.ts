// What was told outside and not acknowledged, and the act of saying that they know.
import type { Write } from 'fullset-client'
import type { Alert, Id, Telling } from '@/api/types'
import type { Member } from '@/api/types'
import { notices } from '@/ui/notice.svelte'
import { notReached } from '@/words/told'
import { Act } from './act.svelte'
import { keptWords } from './outbox.svelte'
import { session } from './session.svelte'
import { world } from './world.svelte'

type Where = Pick<Alert, 'station' | 'district'>
/** Whether an alert lies outside a member's own part of the agency, as the service asks it (door/reach.rs): it would refuse the word. */
export function isBeyond(
  member: Pick<Member, 'station' | 'district'> | null,
  { station, district }: Where,
): boolean {
  if (member?.station) return Boolean(station) && station !== member.station
  return Boolean(member?.district && district) && district !== member?.district
}
/** Who acknowledges it where this member may not: "Old Town acknowledges this". Empty: this member may. */
export function othersWords(one: Unheard): string {
  const beyond = one.all.find((alert) => isBeyond(session.member, alert))
  if (!beyond) return ''
  const station = session.member?.station
    ? world.get('station', beyond.station ?? undefined)?.name
    : undefined
  const who = station ?? world.get('district', beyond.district ?? undefined)?.name ?? 'Another district'
  return `${who} acknowledges this.`
}

/** Who has not acknowledged: each receiver outside for itself; of the phones of members, one that has is enough. */
export function openOf({ told }: Pick<Alert, 'told'>): Telling[] {
  const seen = told.some((one) => one.way === 'phone' && one.acknowledged)
  return told.filter((one) => !one.acknowledged && !(seen && one.way === 'phone'))
}

/** A rig or a district of which something was told that nobody has acknowledged. */
export interface Unheard {
  key: string
  /** The last of these changes. */
  last: Alert
  /** All of them, the oldest first. */
  all: Alert[]
  /** A later change that was acknowledged; none where `last` is how it stands. */
  later: Alert | undefined
  /** Somebody was not even reached. */
  missed: boolean
}

const falls = ({ change }: Alert) => change === 'rig_falls' || change === 'district_short'

/** By rig and district: where somebody was not reached first, then what fell, then the latest. */
export function unheard(alerts: readonly Alert[]): Unheard[] {
  const found = new Map<string, Alert[]>()
  for (const alert of alerts) {
    const key = alert.rig ?? alert.district ?? alert.id
    const list = found.get(key)
    if (list) list.push(alert)
    else found.set(key, [alert])
  }
  return [...found]
    .flatMap(([key, list]) => {
      const inOrder = list.toSorted((a, b) => a.revision - b.revision)
      const all = inOrder.filter((one) => openOf(one).length)
      const last = all.at(-1)
      if (!last) return []
      const newest = inOrder.at(-1)
      const missed = all.some((one) => openOf(one).some(notReached))
      return [{ key, last, all, later: newest === last ? undefined : newest, missed }]
    })
    .toSorted(
      (a, b) =>
        Number(b.missed) - Number(a.missed) ||
        Number(falls(b.last)) - Number(falls(a.last)) ||
        Date.parse(b.last.at) - Date.parse(a.last.at),
    )
}

/** Those who have not acknowledged, each once, by name. */
export function silent(one: Unheard): { id: Id; name: string }[] {
  const all = one.all.flatMap((alert) => openOf(alert).map(({ receiver, name }) => [receiver, name] as const))
  return [...new Map(all)]
    .map(([id, name]) => ({ id, name }))
    .toSorted((a, b) => a.name.localeCompare(b.name))
}

/** A member's word that they know: of every change of it that is still open, so that none stays behind the last. */
export function acknowledged(one: Unheard, receiver: Id | '', note: string): Write<'alert.acknowledge'>[] {
  return one.all
    .filter((alert) => openOf(alert).some((telling) => !receiver || telling.receiver === receiver))
    .map((alert) => ({
      kind: 'alert.acknowledge' as const,
      body: { id: alert.id, receiver: receiver || null, note: note.trim() || null },
    }))
}

/** The question whether they know, while it is open. */
export class Hearing {
  about = $state.raw<Unheard | null>(null)
  receiver = $state<Id | ''>('')
  note = $state('')
  readonly act = new Act()

  get who() {
    return this.about ? silent(this.about) : []
  }
  ask = (about: Unheard) => {
    this.act.clear()
    this.about = about
    this.receiver = ''
    this.note = ''
  }
  close = () => (this.about = null)
  send = () => {
    const { about } = this
    if (!about) return
    const { name } = about.last
    const writes = acknowledged(about, this.receiver, this.note)
    void this.act.run(`They know of ${name}`, writes, (_, how) => {
      this.close()
      notices.say(how === 'kept' ? keptWords : `Acknowledged: ${name}.`)
    })
  }
}
