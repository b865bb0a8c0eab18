// The outbox without a screen: what this phone still has to tell the server. It runs in a page and in the worker alike.
import { isLost, push, upload, type Client, type Command, type Problem } from 'fullset-client'
import type { AnyRecord, Answer } from '@/api/types'
import type { Disk, Op } from './disk'

export interface Item {
  /** Place in the order; given by the disk. */
  seq: number
  id: string
  owner: string
  ownerName: string
  /** On a shared tablet: who signed it. */
  by?: string | undefined
  /** What the person did, in words. */
  words: string
  command: Command
  photos: string[]
  /** By this phone's clock, milliseconds. */
  queued_at: number
  /** `sent`: the server has it; it leaves when the feed has brought what came of it. */
  state: 'waiting' | 'refused' | 'conflict' | 'sent'
  /** How often it went out without an answer: it may have arrived. */
  tried: number
  problem?: Problem | undefined
  current?: AnyRecord | undefined
  revision?: number | undefined
  records?: Answer['records'] | undefined
}
export interface Photo {
  sha: string
  owner: string
  type: string
  bytes: ArrayBuffer
  at: number
  /** The commands that name it; none while the person has not sent yet. */
  for: string[]
  problem?: Problem | undefined
}
/** What became of an act that does not wait any more, for whoever did it. */
export interface Done {
  id: string
  words: string
  by?: string | undefined
  queued_at: number
  at: number
  how: 'sent' | 'refused' | 'conflict' | 'withdrawn'
  problem?: Problem | undefined
  current?: AnyRecord | undefined
}
export const doneKey = (owner: string) => `done:${owner}`
const MOST_DONE = 50
/** The newest first; past the last of them the oldest is forgotten. */
export const noteDone = (items: Item[]): Op[] =>
  items.length
    ? [
        {
          change: 'meta',
          key: doneKey(items[0]?.owner ?? ''),
          to: (old: Done[] = []) => [...items.map(doneOf).reverse(), ...old].slice(0, MOST_DONE),
        },
      ]
    : []
const doneOf = ({ id, words, by, queued_at, state, problem, current }: Item): Done => ({
  ...{ id, words, by, queued_at, at: Date.now() },
  ...{ how: state === 'waiting' ? 'withdrawn' : state, problem, current },
})

/** What `meta` keeps of the sign-in, for opening without a signal and for the worker. */
export interface KeptSession<S = unknown> {
  owner: string
  session: S
  /** The server ended it: nothing is shown or sent before somebody signs in. */
  ended: boolean
  /** The person signed out, and the server has not heard of it: nothing else of the sign-in is here any more. */
  left?: boolean
}

/** Held while sending and while the sign-in changes: nothing of one member goes out under another's name. */
export const SENDING = 'fullset-outbox'
const BATCH = 100
const PATIENCE_MS = 30_000
const DRAFT_MS = 24 * 3_600_000

export async function queued(disk: Disk, owner: string): Promise<Item[]> {
  return (await disk.all<Item>('outbox')).filter((i) => i.owner === owner).sort((a, b) => a.seq - b.seq)
}

/** Commands, and which photos belong to them, in one transaction. */
export async function enqueue(
  disk: Disk,
  who: Pick<Item, 'owner' | 'ownerName' | 'by'>,
  words: string,
  commands: Command[],
  photos: string[] = [],
): Promise<Item[]> {
  const ids = new Set(commands.map((c) => c.id))
  onWhatWaits(commands, await queued(disk, who.owner))
  const ops: Op[] = commands.map((command, i) => ({
    put: 'outbox',
    value: {
      ...who,
      id: command.id,
      words,
      command,
      photos: i === 0 ? photos : [],
      queued_at: Date.now(),
      state: 'waiting',
      tried: 0,
    } satisfies Omit<Item, 'seq'>,
  }))
  const first = commands[0]?.id
  for (const sha of photos)
    ops.push(changePhoto(who.owner, sha, (p) => ({ ...p, for: [...p.for, first ?? ''] })))
  await disk.write(ops)
  return (await queued(disk, who.owner)).filter((i) => ids.has(i.id))
}

export const changeItem = (seq: number, to: (item: Item) => Item | undefined): Op => ({
  change: 'outbox',
  key: seq,
  to: (old: Item | undefined) => old && to(old),
})
export const changePhoto = (owner: string, sha: string, to: (photo: Photo) => Photo | undefined): Op => ({
  change: 'photos',
  key: [owner, sha],
  to: (old: Photo | undefined) => old && to(old),
})

/** What was decided on a record that an act here has changed, or will, names that act: the server has made no revision yet. */
function onWhatWaits(commands: Command[], items: Item[]) {
  for (const [i, command] of commands.entries()) {
    const { expects, body } = command
    if (typeof expects !== 'number') continue
    const same = (c: Command) => c.body['id'] === body['id']
    const ahead = (o: Item) => o.state === 'waiting' || (o.state === 'sent' && (o.revision ?? 0) > expects)
    const left =
      commands.slice(0, i).findLast(same) ?? items.findLast((o) => same(o.command) && ahead(o))?.command
    if (left) command.expects = { after: left.id }
  }
}
export const follows = ({ after, expects }: Command) => [
  after,
  typeof expects === 'object' ? expects?.after : undefined,
]

/** Those that wait for one before them that was refused or is in conflict. */
export function blocked(items: Item[]): Set<string> {
  const stuck = new Set<string>()
  const held = new Set(items.filter((i) => i.state === 'refused' || i.state === 'conflict').map((i) => i.id))
  for (const { id, state, command } of items) {
    if (state !== 'waiting') continue
    if (follows(command).some((a) => a && (held.has(a) || stuck.has(a)))) stuck.add(id)
  }
  return stuck
}

/** Sends what can be sent, in order, then the photos. Answers why it stopped early, or null. Runs under the lock `SENDING`. */
export async function drain(
  disk: Disk,
  client: Client,
  owner: string,
  moved: () => void = () => {},
): Promise<Problem | null> {
  for (let alone = false; ;) {
    const signedIn = await disk.get<KeptSession>('meta', 'session')
    if (signedIn?.owner !== owner || signedIn.ended)
      return { code: 'sign-in-needed', title: 'Nobody is signed in', status: 401 }
    const items = await queued(disk, owner)
    const stuck = blocked(items)
    const ready = items.filter((i) => i.state === 'waiting' && !stuck.has(i.id))
    const batch = ready.slice(0, alone ? 1 : BATCH)
    if (!batch.length) {
      const left = await sendPhoto(disk, client, owner, items, moved)
      // One photo at a time: an act that was queued meanwhile goes before the next.
      if (left === 'sent') continue
      return left
    }
    // Certainly no signal: nothing can have left, so it can still be taken back.
    if (typeof navigator !== 'undefined' && navigator.onLine === false)
      return { code: 'no-connection', title: 'No signal', status: 0 }
    // Written before it goes: after a crash nobody can think that it never went.
    await disk.write(batch.map((i) => changeItem(i.seq, (o) => ({ ...o, tried: o.tried + 1 }))))
    const reply = await pushPatiently(client, batch)
    if (reply.ok) {
      const { answers, revision } = reply.data
      const known = new Set(items.map((i) => i.id))
      const answer = (i: Item) => answers.find((a) => a.id === i.id)
      const sent = batch.map((i) => answered(i, answer(i), revision, known)).filter((i) => i.state === 'sent')
      await disk.write([
        ...batch.map((i) => changeItem(i.seq, (o) => answered(o, answer(i), revision, known))),
        ...noteDone(sent),
      ])
      moved()
      continue
    }
    const { problem } = reply
    if (isLost(problem)) return problem
    // The server answered and did nothing: these did not arrive by this try.
    await disk.write(batch.map((i) => changeItem(i.seq, (o) => ({ ...o, tried: i.tried }))))
    if (standsStill(problem)) return problem
    // Something in the batch is not even read. Alone, each is answered for itself.
    if (alone || batch.length === 1) {
      await disk.write(batch.map((i) => changeItem(i.seq, (o) => ({ ...o, state: 'refused', problem }))))
      moved()
    }
    alone = true
  }
}

function pushPatiently(client: Client, batch: Item[]) {
  const commands = batch.map((i) => i.command)
  const late = new Promise<{ ok: false; problem: Problem }>((resolve) => {
    const problem = { code: 'no-connection', title: 'The server did not answer in time', status: 0 }
    setTimeout(() => resolve({ ok: false, problem }), PATIENCE_MS)
  })
  return Promise.race([push(client, commands, 1), late])
}

/** About the sender, not about what is sent: everything is kept and waits. */
const standsStill = ({ status }: Problem) => [401, 403, 404, 408, 410, 426, 429, 507].includes(status)

function answered(item: Item, answer: Answer | undefined, revision: number, known: Set<string>): Item {
  if (answer?.outcome === 'applied' || answer?.outcome === 'repeated') {
    return { ...item, state: 'sent', revision: answer.revision ?? revision, records: answer.records }
  }
  if (answer?.outcome === 'conflict') {
    const { current, problem } = answer
    return {
      ...item,
      state: 'conflict',
      tried: 0,
      current: current ?? undefined,
      problem: problem ?? undefined,
    }
  }
  const problem: Problem = answer?.problem ?? {
    code: 'no-answer',
    title: answer ? `The server answered "${answer.outcome}"` : 'The server left this one without an answer',
    status: 0,
  }
  // Refused only because of the one before it: it waits for what becomes of that one.
  const waits = problem.code === 'after-refused' && follows(item.command).some((a) => a && known.has(a))
  return waits ? { ...item, tried: 0 } : { ...item, state: 'refused', tried: 0, problem }
}

async function sendPhoto(
  disk: Disk,
  client: Client,
  owner: string,
  items: Item[],
  moved: () => void,
): Promise<'sent' | Problem | null> {
  const open = new Set(items.filter((i) => i.state !== 'sent').map((i) => i.id))
  const photos = (await disk.all<Photo>('photos')).filter((p) => p.owner === owner)
  const gone = (photo: Photo): Op => ({ delete: 'photos', key: [owner, photo.sha] })
  const forgotten = photos.filter((p) => !p.for.length && Date.now() - p.at > DRAFT_MS)
  await disk.write(forgotten.map(gone))
  const photo = photos.find((p) => p.for.length && !p.problem && !p.for.some((id) => open.has(id)))
  if (!photo) return null
  const done = await upload(client, photo.sha, photo.bytes, photo.type)
  if (!done.ok && (isLost(done.problem) || standsStill(done.problem))) return done.problem
  await disk.write([
    done.ok ? gone(photo) : changePhoto(owner, photo.sha, (p) => ({ ...p, problem: done.problem })),
  ])
  moved()
  return 'sent'
}
