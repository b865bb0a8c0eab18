// The plan that is being made. It lives beside the screens: work goes on and nothing typed is lost while the person looks elsewhere,
// and what is not saved yet is kept in this browser until it is.
import { problemOf, noConnection } from 'fullset-client'
import { wire } from '@/api/client'
import type {
  DueYear,
  PlanAnswer,
  PlanAsk,
  PlanLine,
  PlanVisit,
  Problem,
  ServicePlanRecord,
} from '@/api/types'
import { Hint } from '@/store/hint'
import { session } from '@/store/session.svelte'
import { world } from '@/store/world.svelte'
import { notices } from '@/ui/notice.svelte'
import { router } from '@/ui/router.svelte'
import { zoneName } from '@/words/time'
import { jsonLines } from './lines'
import { alike, dayIn, move, nextMonday, pinsOf, redated, shortDay } from './weeks'

const HINT = new Hint<Kept>('fullset.plan')
/** Hours that a shop has in a week, to begin with. */
const SHOP_HOURS = 40

interface Draft {
  id: string
  /** The revision that the changes were made on; null while the draft itself still waits to be sent. */
  rev: number | null
}
interface Kept {
  owner: string
  ask: PlanAsk
  name: string
  note: string
  draft: Draft | null
  from: string
  answer: PlanAnswer | null
  asked: PlanAsk | null
  visits: PlanVisit[]
  moved: number
}

class Desk {
  /** What the next plan is worked out from. */
  ask = $state<PlanAsk>(fresh([]))
  name = $state('')
  note = $state('')
  draft = $state<Draft | null>(null)
  /** What the register says about the ask. */
  due = $state.raw<DueYear | null>(null)
  dueProblem = $state.raw<Problem | null>(null)
  /** The last answer, and what it was worked out from. */
  answer = $state.raw<PlanAnswer | null>(null)
  asked = $state.raw<PlanAsk | null>(null)
  /** What the register said about what it was worked out from: the days of its visits are numbered by it. */
  frame = $state.raw<DueYear | null>(null)
  /** The answer's visits as a person changed them. */
  visits = $state.raw<PlanVisit[]>([])
  moved = $state(0)
  unsaved = $state(false)
  /** While a plan is worked out. */
  running = $state<{ share: number; words: string } | null>(null)
  problem = $state.raw<Problem | null>(null)
  /** What came of the last search, for whoever was elsewhere. */
  news = $state('')
  /** The plan on record that this one was taken from. */
  from = $state('')
  /** Whether the screen of the plan is open. */
  watched = false
  #owner = ''
  #stop: AbortController | null = null
  #asking: AbortController | null = null

  /** Its name, or what it is called until a person names it. */
  get title() {
    return (
      this.name || `Annual service from ${shortDay(this.ask.first_day)} ${this.ask.first_day.slice(0, 4)}`
    )
  }

  /** Takes up what this browser kept, or begins anew. Another member's plan is not shown. */
  open() {
    if (this.#owner === session.owner) return
    this.cancel()
    this.#owner = session.owner
    const kept = HINT.read(this.#owner)
    if (!kept) return this.clear()
    const { ask, name, note, draft, from, answer, asked, visits, moved } = kept
    Object.assign(this, { ask, name, note, draft, from, answer, asked, visits, moved, unsaved: true })
    this.due = this.frame = answer
  }

  clear() {
    this.cancel()
    this.ask = fresh(world.all('shop').map((shop) => shop.id))
    this.name = this.note = this.news = this.from = ''
    this.draft = this.due = this.frame = this.answer = this.asked = this.problem = this.dueProblem = null
    this.visits = []
    this.moved = 0
    this.saved()
  }

  /** A plan that is kept, to go on with. Of one that is no draft any more, a new draft is made. */
  take(plan: ServicePlanRecord) {
    this.cancel()
    this.ask = structuredClone(plan.asked)
    this.ask.pins = pinsOf(plan.visits, plan.asked, plan.asked)
    this.name = plan.state === 'draft' ? plan.name : `${plan.name}, again`
    this.note = plan.note ?? ''
    this.from = plan.id
    this.draft = plan.state === 'draft' ? { id: plan.id, rev: plan.rev } : null
    this.answer = this.due = this.frame = this.problem = this.dueProblem = null
    this.asked = structuredClone(plan.asked)
    this.visits = plan.visits
    this.moved = 0
    this.news = ''
    this.saved()
  }

  /** Something changed that is not saved yet. */
  touch() {
    this.unsaved = true
    const kept: Kept = $state.snapshot({
      owner: this.#owner,
      ask: this.ask,
      name: this.name,
      note: this.note,
      draft: this.draft,
      from: this.from,
      answer: this.answer,
      asked: this.asked,
      visits: this.visits,
      moved: this.moved,
    })
    HINT.keep(kept)
  }
  saved() {
    this.unsaved = false
    HINT.drop()
  }

  /** Puts a set elsewhere. What a person settles stays when the plan is worked out again. */
  move(set: string, period: number, shop: string) {
    this.visits = move(this.visits, set, { period, shop }, this.frame)
    this.moved++
    this.#repin()
  }
  pin(set: string) {
    this.visits = this.visits.map((visit) =>
      visit.set === set ? { ...visit, pinned: !visit.pinned } : visit,
    )
    this.#repin()
  }
  #repin() {
    if (this.asked) this.ask.pins = pinsOf(this.visits, this.asked, this.ask)
    this.touch()
  }
  unpinAll() {
    this.visits = this.visits.map((visit) => ({ ...visit, pinned: false }))
    this.ask.pins = []
    this.touch()
  }
  /** Other days for the plan. */
  date(days: { first_day?: string; periods?: number }) {
    this.ask = redated($state.snapshot(this.ask), days)
    this.touch()
  }

  /** What is due by the inputs as they stand. The last question asked is the one that counts. */
  async look(): Promise<void> {
    this.#asking?.abort()
    const asking = (this.#asking = new AbortController())
    const body = $state.snapshot(this.ask)
    const reply = await wire.any<DueYear>('POST', '/v1/service-plans/due', { body, signal: asking.signal })
    if (asking.signal.aborted) return
    if (reply.ok) {
      this.due = reply.data
      if (this.asked && alike(body, this.asked)) this.frame = reply.data
    }
    this.dueProblem = reply.ok ? null : reply.problem
  }

  async work(): Promise<void> {
    this.cancel()
    const stop = (this.#stop = new AbortController())
    const ask = $state.snapshot(this.ask)
    this.running = { share: 0, words: 'asking the server' }
    this.problem = null
    this.news = ''
    const last = await search(ask, stop.signal, (progress) => {
      if (!stop.signal.aborted) this.running = progress
    })
    // Cancelled, or another member has signed in meanwhile.
    if (stop.signal.aborted || session.owner !== this.#owner) return
    this.#stop = this.running = null
    if ('problem' in last) this.problem = last.problem
    else this.#came(last.answer, ask)
    if (!this.watched) this.#tell()
  }
  #came(answer: PlanAnswer, ask: PlanAsk) {
    this.answer = this.due = this.frame = answer
    this.asked = ask
    this.moved = 0
    this.visits = answer.visits
    this.touch()
  }
  #tell() {
    const { answer, problem } = this
    this.news = problem
      ? 'While you were elsewhere the search broke off.'
      : `While you were elsewhere the search ended: ${answer?.plan.words ?? ''}`
    notices.say(
      problem
        ? 'The service plan could not be worked out.'
        : answer?.plan.verdict === 'planned'
          ? 'The service plan is worked out.'
          : answer?.plan.verdict === 'partly'
            ? 'The service plan is worked out without some sets; it says what stands in their way.'
            : 'No service plan was found; it says what stands in the way.',
      { label: 'See it', run: () => router.go('/calendar/plan') },
    )
  }

  /** Ends the search; closing the connection ends it on the server too. */
  cancel() {
    this.#stop?.abort()
    this.#stop = this.running = null
  }
}

function fresh(shops: string[]): PlanAsk {
  return {
    first_day: nextMonday(dayIn(zoneName(), new Date())),
    period_days: 7,
    periods: 52,
    early_days: 28,
    late_days: 28,
    hours_per_set: 4,
    hours: [],
    shops: shops.map((shop) => ({ shop, hours: SHOP_HOURS, closed: [], periods: [] })),
    caps: [],
    pins: [],
  }
}

type Last = { answer: PlanAnswer } | { problem: Problem }
async function search(
  ask: PlanAsk,
  signal: AbortSignal,
  tell: (progress: { share: number; words: string }) => void,
): Promise<Last> {
  try {
    const response = await wire.raw('/v1/service-plans/work', {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify(ask),
      signal,
    })
    if (!response.ok || !response.body) return { problem: await problemOf(response) }
    for await (const line of jsonLines<PlanLine>(response.body)) {
      if ('progress' in line) tell(line.progress)
      else return line
    }
  } catch (fault) {
    if (signal.aborted) return { problem: noConnection(fault) }
  }
  return {
    problem: {
      code: 'broken-off',
      title: 'The connection broke before the plan was worked out',
      status: 0,
      hint: 'Your inputs are kept. Check the signal, then work it out again.',
    },
  }
}

export const desk = new Desk()
