// The boundaries and roads that everybody of the agency has on the map: read, set and taken away, each with the way back.
import type { Write } from 'fullset-client'
import { wire } from '@/api/client'
import type { MapGeometry, MapLines, Problem } from '@/api/types'
import { Act, type How } from '@/store/act.svelte'
import { keptWords } from '@/store/outbox.svelte'
import { session } from '@/store/session.svelte'
import { notices } from '@/ui/notice.svelte'
import { said } from '@/words/said'
import type { OwnLines } from './geojson'
import { ownOf, wireOf } from './wirelines'

/** Somebody may set others between the two questions. */
const TRIES = 3
interface Kept {
  record: MapLines
  own: OwnLines
}

export class AgencyLines {
  readonly act = new Act()
  /** Null: the agency keeps none, or they have not come. */
  kept = $state.raw<Kept | null>(null)
  /** Why they did not come; what is drawn may then be what was there before. */
  problem = $state.raw<Problem | null>(null)
  #asked = 0

  async look(): Promise<void> {
    const mine = (this.#asked += 1)
    const found = await this.#read()
    if (mine !== this.#asked) return
    this.problem = 'problem' in found ? found.problem : null
    if ('kept' in found) this.kept = found.kept
  }
  /** What is on its way comes to nobody. */
  stop() {
    this.#asked += 1
  }

  async #read(): Promise<{ kept: Kept | null } | { problem: Problem }> {
    let problem: Problem = { code: 'moving', title: 'They were just changed', status: 0 }
    for (let tries = 0; tries < TRIES; tries++) {
      const list = await wire.any<{ items: MapLines[] }>('GET', '/v1/map-lines')
      if (!list.ok) return list
      const record = list.data.items[0]
      if (!record) return { kept: null }
      if (record.rev === this.kept?.record.rev) return { kept: this.kept }
      const geometry = await wire.any<MapGeometry>('GET', `/v1/map-lines/${record.id}/geometry`)
      if (!geometry.ok && geometry.problem.status !== 404) return geometry
      if (!geometry.ok) problem = geometry.problem
      else if (geometry.data.rev === record.rev)
        return { kept: { record, own: ownOf(record, geometry.data) } }
    }
    return { problem }
  }

  /** Shows these to everybody; `after` runs when they are on the map, `undone` when they are off it again. */
  async set(own: OwnLines, after: () => unknown, undone: () => unknown): Promise<void> {
    const seen = this.kept
    const mine = seen
      ? 'Put these boundaries and roads in the place of the agency’s'
      : 'Show these boundaries and roads to everybody of the agency'
    await this.#run(this.act, mine, this.#setting(own, seen?.record.rev), async (rev) => {
      // Decided again over what somebody else had set meanwhile, that is the way back; the feed may have told of these already.
      const before = this.kept?.record.rev === rev ? seen : this.kept
      const done = `Everybody of the agency has the lines from ${said(own.name)} on the map.`
      notices.say(done, { label: 'Undo', run: () => void this.#undo(before, rev, undone) })
      // What was the person’s own is drawn until the agency’s are here, and stays where they do not come.
      await this.look()
      if (!this.problem) after()
    })
  }

  async remove(after: () => unknown): Promise<void> {
    const before = this.kept
    if (!before) return
    const mine = 'Take the agency’s boundaries and roads off everybody’s map'
    await this.#run(this.act, mine, this.#removing(before.record.rev), async () => {
      const undo = { label: 'Undo', run: () => void this.#undo(before, undefined, after) }
      notices.say(`Nobody has the lines from ${said(before.record.name)} on the map any more.`, undo)
      await this.look()
      after()
    })
  }

  /** As it was before: `rev` is what was made of it since, if anything is there. */
  async #undo(before: Kept | null, rev: number | undefined, undone: () => unknown) {
    const undo = new Act()
    const write = before ? this.#setting(before.own, rev) : this.#removing(rev)
    const how = await this.#run(undo, 'Set the map’s lines as they were before', write, async () => {
      notices.say('The lines on the map are as they were before.')
      await this.look()
      undone()
    })
    if (!how) notices.say(`Not undone: ${undo.shown?.title ?? 'somebody has changed them since'}`)
  }

  #setting(own: OwnLines, expects: number | undefined): Write<'map_lines.set'> {
    const body = { id: session.agency?.id ?? '', name: own.name, ...wireOf(own) }
    return { kind: 'map_lines.set', body, expects }
  }
  #removing(expects: number | undefined): Write<'map_lines.remove'> {
    return { kind: 'map_lines.remove', body: { id: session.agency?.id ?? '' }, expects }
  }

  async #run(
    act: Act,
    mine: string,
    write: Write,
    done: (rev: number | undefined) => Promise<void>,
  ): Promise<How | false> {
    const how = await act.run(mine, [write], (sent, how) => {
      if (how === 'kept') return notices.say(keptWords)
      const first = sent[0]
      void done(first?.outcome === 'applied' ? first.revision : undefined)
    })
    // What stands now is shown before it is decided again.
    if (!how) void this.look()
    return how
  }
}
