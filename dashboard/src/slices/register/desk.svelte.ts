// The import in the making: its file, how it is to be read, how far it is and what came of it. It lives beside the screens, so that
// whoever looks elsewhere meanwhile finds it again.
import { wire } from '@/api/client'
import type { ImportProgress, ImportRun, Problem } from '@/api/types'
import { uuid7 } from '@/api/uuid'
import { feed } from '@/store/feed.svelte'
import { Hint } from '@/store/hint'
import { session } from '@/store/session.svelte'
import { world } from '@/store/world.svelte'
import { notices } from '@/ui/notice.svelte'
import { router } from '@/ui/router.svelte'
import { headings } from './headings'
import { follow } from './progress'

/** An import under way, for whoever closes the page before the answer and opens it again. */
const HINT = new Hint<Kept>('fullset.import')
interface Kept {
  owner: string
  key: string
  name: string
}
type Choice = 'dates' | 'numbers' | 'places' | 'tags' | 'sheet'

class ImportDesk {
  name = $state('')
  mapping = $state<Record<string, string | null>>({})
  choices = $state<Record<Choice, string>>(unsettled())
  dry = $state.raw<ImportRun | null>(null)
  done = $state.raw<ImportRun | null>(null)
  busy = $state<'' | 'looking' | 'importing'>('')
  progress = $state.raw<ImportProgress | null>(null)
  problem = $state.raw<Problem | null>(null)
  found = $state.raw<{ column: string; field?: string | null }[]>([])
  /** An import that a page which was closed had sent, and that is not being worked on any more. */
  lost = $state.raw<Kept | null>(null)
  /** Whether the screen of the import is open. */
  watched = false
  /** The bytes, not the file: a file changed on the disk meanwhile could no longer be read. */
  #bytes: ArrayBuffer | null = null
  #type = ''
  /** One id for one import, however often the button or the browser sends it. */
  #key = uuid7()
  #owner = ''
  /** Counts what was begun: what comes late of something else says nothing. */
  #turn = 0

  /** What came of an import whose answer nobody waited for. */
  get recovered() {
    return world.get('import', this.lost?.key)
  }

  /** Takes up what is under way. Another member's is not shown. */
  open() {
    if (this.#owner === session.owner) return
    this.#owner = session.owner
    this.clear()
    const kept = HINT.read(this.#owner)
    if (kept) void this.#resume(kept)
  }
  /** The screen is left: what is under way goes on, what was looked at is put away. */
  leave() {
    this.watched = false
    if (!this.busy) this.clear()
  }
  clear() {
    this.#turn++
    this.mapping = {}
    this.choices = unsettled()
    this.dry = this.done = this.progress = this.problem = this.lost = this.#bytes = null
    this.found = []
    this.name = this.busy = ''
    this.#key = uuid7()
  }
  /** The same file once more, as another import. */
  again() {
    this.done = null
    this.#key = uuid7()
  }

  async take(chosen: File) {
    this.mapping = {}
    // How another file writes its numbers and dates says nothing of this one, and neither do its tags.
    Object.assign(this.choices, { numbers: '', dates: '', tags: '' })
    await this.#look(chosen)
  }
  /** Corrected rows are read as the file was that they stood in: alone they may not show how their dates and numbers are meant. */
  async reread(chosen: File) {
    if (!this.dry) return
    this.choices.numbers = this.dry.number_style ?? ''
    this.choices.dates = this.dry.date_order ?? ''
    await this.#look(chosen)
  }
  async #look(chosen: File) {
    const turn = ++this.#turn
    const bytes = await chosen.arrayBuffer()
    if (turn !== this.#turn) return
    this.#bytes = bytes
    this.#type = chosen.type
    this.name = chosen.name
    this.choices.sheet = ''
    this.dry = this.done = this.lost = null
    this.#key = uuid7()
    await this.run(true)
  }
  choose(column: string, field: string) {
    this.mapping = { ...this.mapping, [column]: field || null }
    void this.run(true)
  }
  settle(what: Choice, value: string) {
    this.choices[what] = value
    void this.run(true)
  }

  async run(dryRun: boolean) {
    const bytes = this.#bytes
    if (!bytes) return
    const turn = ++this.#turn
    this.busy = dryRun ? 'looking' : 'importing'
    this.problem = this.progress = null
    const key = dryRun ? uuid7() : this.#key
    if (!dryRun) HINT.keep({ owner: this.#owner, key, name: this.name })
    const ended = () => turn !== this.#turn || !this.busy
    void this.#follow(key, ended)
    const headers = { ...this.#headers(), 'idempotency-key': key }
    const reply = await wire.any<ImportRun>('POST', `/v1/imports?${this.#query(dryRun)}`, {
      body: bytes,
      headers,
    })
    // Another member has signed in meanwhile.
    if (turn !== this.#turn || session.owner !== this.#owner) return
    this.busy = ''
    if (!dryRun) HINT.drop()
    this.found = []
    if (!reply.ok) this.#refused(reply.problem, bytes)
    else if (dryRun) this.dry = reply.data
    else this.done = reply.data
    if (!this.watched) this.#tell(dryRun)
    if (this.done) await feed.sync()
  }
  #refused(problem: Problem, bytes: ArrayBuffer) {
    this.problem = problem
    // A sheet that is no register: what was read before stays, with its choice of sheets.
    if (this.choices.sheet) this.choices.sheet = ''
    else if (problem.code === 'file-unreadable') {
      this.dry = null
      this.found = headings(bytes).map((column) => ({ column, field: this.mapping[column] }))
    }
  }
  #query(dryRun: boolean): URLSearchParams {
    const { dates, numbers, places, tags, sheet } = this.choices
    const query = new URLSearchParams({ dry_run: String(dryRun), file_name: this.name })
    if (dates) query.set('date_order', dates)
    if (numbers) query.set('number_style', numbers)
    if (places) query.set('create_places', places)
    if (tags) query.set('look_alikes', tags)
    if (sheet) query.set('sheet', sheet)
    return query
  }
  #headers(): Record<string, string> {
    const type = { 'content-type': this.#type || 'text/csv' }
    return Object.keys(this.mapping).length ? { ...type, 'x-fullset-columns': asciiJson(this.mapping) } : type
  }

  #follow(
    key: string,
    ended: () => boolean,
    tell = (progress: ImportProgress | null) => this.#heard(progress),
  ) {
    return follow({ ask: () => wire.any('GET', `/v1/imports/${key}/progress`), tell, ended })
  }
  /** What one process does not know another one may have said: that stays. */
  #heard(progress: ImportProgress | null) {
    if (progress) this.progress = progress
  }
  async #resume(kept: Kept) {
    const turn = ++this.#turn
    this.busy = 'importing'
    this.name = kept.name
    let over = false
    await this.#follow(
      kept.key,
      () => over || turn !== this.#turn,
      (progress) => {
        over = !progress
        this.#heard(progress)
      },
    )
    if (turn !== this.#turn) return
    await feed.sync()
    if (turn !== this.#turn) return
    HINT.drop()
    this.busy = ''
    this.lost = kept
    if (!this.watched) this.#tell(false)
  }
  #tell(dryRun: boolean) {
    const words = dryRun ? `${this.name} is read.` : `The import of ${this.name} has ended.`
    notices.say(this.problem ? `${this.name} could not be ${dryRun ? 'read' : 'imported'}.` : words, {
      label: 'See it',
      run: () => router.go('/register/import'),
    })
  }
}

function unsettled(): Record<Choice, string> {
  return { dates: '', numbers: '', places: '', tags: '', sheet: '' }
}

/** A header carries ASCII only; JSON can say the rest in escapes. */
function asciiJson(value: unknown): string {
  return JSON.stringify(value).replace(
    /[\u007f-\uffff]/g,
    (c) => `\\u${c.charCodeAt(0).toString(16).padStart(4, '0')}`,
  )
}

export const desk = new ImportDesk()
