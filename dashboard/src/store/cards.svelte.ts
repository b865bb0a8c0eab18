// Operating cards as this device holds them, and their pictures, kept here so that they show without a signal.
import { wire } from '@/api/client'
import type { CardDraft, CardSubject, CardText, Id, Model, OperatingCard, RigClass } from '@/api/types'
import { disk } from './disk'
import { phone } from './phone.svelte'
import type { Photo } from './queue'
import { session } from './session.svelte'
import { world } from './world.svelte'

/** The card of a model or a rig class, by the id of either. */
export const cardOf = (id: Id | null | undefined): OperatingCard | undefined =>
  world.get('operating_card', id)
/** What waits to be approved as its next version. Only a device that keeps the whole agency holds drafts. */
export const draftsOf = (id: Id): CardDraft[] =>
  (world.group('card_draft', 'subject', (one) => subjectId(one.subject)).get(id) ?? []).toSorted((a, b) =>
    a.written_at < b.written_at ? 1 : -1,
  )
export const subjectId = (subject: CardSubject): Id =>
  subject.of === 'model' ? subject.model : subject.rig_class

export type Carded = { of: 'model'; record: Model } | { of: 'rig_class'; record: RigClass }
/** The model or the rig class of that id. */
export function cardedBy(id: Id): Carded | undefined {
  const model = world.get('model', id)
  if (model) return { of: 'model', record: model }
  const record = world.get('rig_class', id)
  return record && { of: 'rig_class', record }
}
export const replacedName = (text: CardText) => world.get('model', text.replaces)?.name

interface Kept {
  sha: string
  type: string
  bytes: ArrayBuffer
}
/** So many pictures are kept at most: a station carries some thirty models. */
const MOST = 150

/** An address that shows a picture: of this device while it is here, else of the server, whose picture is kept from then on. */
export async function cardPicture(sha: string): Promise<string | null> {
  const store = await disk()
  const here =
    (await store.get<Photo>('photos', [session.owner, sha])) ?? (await store.get<Kept>('pictures', sha))
  const found = here ?? (await fetched(sha))
  return found ? URL.createObjectURL(new Blob([found.bytes], { type: found.type })) : null
}

async function fetched(sha: string): Promise<Kept | null> {
  try {
    const answer = await wire.raw(`/v1/photos/${sha}`, { method: 'GET' })
    if (!answer.ok) return null
    const type = answer.headers.get('content-type') ?? 'image/jpeg'
    const kept: Kept = { sha, type, bytes: await answer.arrayBuffer() }
    const store = await disk()
    const room = (await store.all<Kept>('pictures')).length < MOST
    if (room) await store.write([{ put: 'pictures', value: kept }]).catch(() => {})
    return kept
  } catch {
    return null
  }
}

/** The pictures of what a phone's own station carries. */
function wanted(): Set<string> {
  const carried = new Set<Id>()
  for (const piece of world.all('piece')) if (piece.state !== 'retired') carried.add(piece.model)
  for (const rig of world.all('rig')) if (rig.rig_class) carried.add(rig.rig_class)
  const texts = world.all('operating_card').filter((card) => carried.has(card.id))
  return new Set(texts.flatMap((card) => card.text?.pictures.map((one) => one.photo) ?? []).slice(0, MOST))
}

async function keep(all: Set<string>) {
  const store = await disk()
  const kept = new Set((await store.all<Kept>('pictures')).map((one) => one.sha))
  const gone = [...kept].filter((sha) => !all.has(sha))
  await store.write(gone.map((key) => ({ delete: 'pictures' as const, key })))
  for (const sha of all) if (!kept.has(sha) && !(await fetched(sha))) return
}

const QUIET_MS = 3_000
let stop: (() => void) | undefined
/** From now on a phone that keeps one station fetches the pictures of its cards ahead, also those that come later. */
export function keepPictures(): void {
  const { connection } = navigator as Navigator & { connection?: { saveData?: boolean } }
  if (!connection?.saveData) stop ??= $effect.root(follow)
}

function follow() {
  let last = ''
  let soon: ReturnType<typeof setTimeout> | undefined
  $effect(() => {
    clearTimeout(soon)
    if (!phone.station || !world.ready) {
      last = ''
      return
    }
    const all = wanted()
    const now = [...all].join()
    if (now === last) return
    soon = setTimeout(() => {
      last = now
      void keep(all).catch(() => (last = ''))
    }, QUIET_MS)
  })
}
