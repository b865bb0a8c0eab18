// The replica as screens see it, with the acts that still wait on this phone laid over it: reading a kind inside a
// component subscribes to that kind.
import type { AnyRecord, Command, Records, RecordKind } from '@/api/types'
import { freshWord } from '@/words/fresh'
import { lay, type Laid } from './overlay'
import type { Item } from './queue'
import { Replica, type Applied } from './replica'
import { SvelteMap } from 'svelte/reactivity'

const FRESH_FOR_MS = 9_000
type Group<K extends RecordKind> = Map<string, Records[K][]>

class World {
  ready = $state(false)
  /** kind/id -> a word that points out what just changed. */
  readonly fresh = new SvelteMap<string, string>()
  /** The last change said aloud for screen readers. */
  said = $state('')
  #versions = $state<Record<string, number>>({})
  /** A whole new copy changes every kind, those too that no change has named yet. */
  #taken = $state(0)
  #replica = new Replica()
  #waiting = $state.raw<Item[]>([])
  #laid = $state.raw<Laid>({ records: new Map(), marks: new Set() })
  #lists = new Map<string, { version: number; list: unknown[] }>()
  #groups = new Map<string, { version: number; map: Map<string, unknown[]> }>()
  #timers = new Map<string, ReturnType<typeof setTimeout>>()

  all<K extends RecordKind>(kind: K): Records[K][] {
    const version = this.#version(kind)
    const known = this.#lists.get(kind)
    if (known?.version === version) return known.list as Records[K][]
    const list = this.#seen(kind)
    this.#lists.set(kind, { version, list })
    return list as unknown as Records[K][]
  }

  get<K extends RecordKind>(kind: K, id: string | null | undefined): Records[K] | undefined {
    this.#version(kind)
    return id ? (this.#look(kind, id) as unknown as Records[K] | undefined) : undefined
  }

  /** What it is called; also of what belongs elsewhere, where something that is here names it. */
  name(kind: 'rig' | 'piece' | 'tool_set', id: string | null | undefined): string | undefined {
    if (!id) return undefined
    if (kind === 'piece') return this.get(kind, id)?.tag ?? this.#replica.stub(kind, id)
    return this.get(kind, id)?.name ?? this.#replica.stub(kind, id)
  }

  /** The record as the server had it, without what waits on this phone. */
  before<K extends RecordKind>(kind: K, id: string | null | undefined): Records[K] | undefined {
    this.#version(kind)
    return id ? (this.#replica.kind(kind).get(id) as unknown as Records[K] | undefined) : undefined
  }
  allBefore<K extends RecordKind>(kind: K): Records[K][] {
    this.#version(kind)
    return [...this.#replica.kind(kind).values()] as unknown as Records[K][]
  }
  /** The acts that wait on this phone, in their order. */
  get acts(): Command[] {
    return this.#waiting.map((item) => item.command)
  }

  /** Whether something about this record waits on this phone. */
  waits(kind: string, id: string | null | undefined): boolean {
    return this.#laid.marks.has(`${kind}/${id}`)
  }

  /** The queued acts that screens show ahead. */
  lay(waiting: Item[]) {
    this.#waiting = waiting
    this.#relay()
  }

  /** Records of a kind grouped by a key; `name` says which grouping, so that it is built once per change. */
  group<K extends RecordKind>(
    kind: K,
    name: string,
    key: (record: Records[K]) => string | null | undefined,
  ): Group<K> {
    const version = this.#version(kind)
    const slot = `${kind}/${name}`
    const known = this.#groups.get(slot)
    if (known?.version === version) return known.map as Group<K>
    const map: Group<K> = new Map()
    for (const record of this.all(kind)) {
      const at = key(record)
      if (!at) continue
      const list = map.get(at)
      if (list) list.push(record)
      else map.set(at, [record])
    }
    this.#groups.set(slot, { version, map })
    return map
  }

  get revision() {
    return this.#replica.revision
  }
  get token() {
    return this.#replica.token
  }

  /** Takes over a complete snapshot at once: nobody sees half of one. */
  take(replica: Replica) {
    this.#replica = replica
    this.#lists.clear()
    this.#groups.clear()
    this.#taken += 1
    this.#relay()
    this.ready = true
  }

  deltas(page: Parameters<Replica['apply']>[0]) {
    const applied = this.#replica.apply(page)
    const named = (page.stubs ?? []).map((stub) => stub.kind)
    const kinds = new Set([...applied.map((a) => a.kind), ...this.#replica.turned(), ...named])
    for (const kind of kinds) this.#raise(kind)
    if (this.#waiting.length && applied.length) this.#relay()
    this.#point(applied)
  }

  forget() {
    this.#waiting = []
    this.take(new Replica())
    this.ready = false
    this.fresh.clear()
  }

  #look(kind: string, id: string): AnyRecord | undefined {
    return this.#laid.records.get(kind)?.get(id) ?? this.#replica.kind(kind).get(id)
  }
  #seen(kind: string): AnyRecord[] {
    const rows = this.#replica.kind(kind)
    const laid = this.#laid.records.get(kind)
    return laid ? [...new Map([...rows, ...laid]).values()] : [...rows.values()]
  }
  #relay() {
    const before = this.#laid
    if (!this.#waiting.length && !before.marks.size) return
    this.#laid = lay(this.#waiting, (kind, id) => this.#replica.kind(kind).get(id))
    for (const kind of new Set([...before.records.keys(), ...this.#laid.records.keys()])) this.#raise(kind)
  }

  #version(kind: string): number {
    return this.#taken + (this.#versions[kind] ?? 0)
  }
  #raise(kind: string) {
    this.#versions[kind] = (this.#versions[kind] ?? 0) + 1
  }

  #point(applied: Applied[]) {
    const spoken: string[] = []
    for (const one of applied) {
      for (const mark of freshWord(one.kind, one.before, one.after)) {
        const key = `${mark.kind}/${mark.id}`
        this.fresh.set(key, mark.word)
        clearTimeout(this.#timers.get(key))
        this.#timers.set(
          key,
          setTimeout(() => this.fresh.delete(key), FRESH_FOR_MS),
        )
        if (mark.kind === 'rig_standing') {
          const rig = this.#replica.kind('rig').get(mark.id)
          if (rig) spoken.push(`${String(rig['name'])}: ${mark.word}`)
        }
      }
    }
    if (spoken.length) this.said = spoken.slice(0, 3).join('. ')
  }
}

export const world = new World()
