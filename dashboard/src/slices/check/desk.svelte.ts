// The walk while somebody does it: what is on the screen, kept on the phone after each answer.
import type { Id, Level } from '@/api/types'
import { checkBy } from '@/store/checks'
import { disk } from '@/store/disk'
import { session } from '@/store/session.svelte'
import { world } from '@/store/world.svelte'
import { dropWalk, keepWalk, keptWalk } from './kept'
import { send } from './send'
import {
  doneMeanwhile,
  keyOf,
  resumeAt,
  screensOf,
  sendings,
  still,
  type Entry,
  type Given,
  type Walk,
} from './walk'

export type Stage = 'choose' | 'walk' | 'summary' | 'sent'

export class Desk {
  stage = $state<Stage>('choose')
  walk = $state.raw<Walk | null>(null)
  /** A half-done walk that this phone keeps. */
  half = $state.raw<Walk | null>(null)
  sending = $state(false)
  fault = $state('')
  /** What the rig was before the walk was signed. */
  before = $state<Level | undefined>()
  readonly of: Id
  readonly rig: Id | null
  #written: Promise<void> = Promise.resolve()

  readonly entries = $derived(this.walk ? still(this.walk, (entry) => this.takenBy(entry) !== undefined) : [])
  readonly screens = $derived(screensOf(this.entries))
  /** Which screen is open. When somebody else has done its check meanwhile, the walk goes on at the first that is open. */
  readonly at = $derived.by(() => {
    const at = this.screens.findIndex((one) => one.key === this.walk?.at)
    return at >= 0 || !this.walk ? at : resumeAt(this.walk, this.screens)
  })
  readonly screen = $derived(this.screens[this.at])
  readonly all = $derived(this.walk ? sendings(this.entries, this.screens, this.walk) : [])

  constructor(of: Id, rig: Id | null) {
    this.of = of
    this.rig = rig
  }

  takenBy(entry: Entry) {
    if (!this.walk) return undefined
    return doneMeanwhile(this.walk, entry, checkBy(entry.plan, entry.piece), session.member?.id)
  }

  async open() {
    this.half = await keptWalk(await disk(), session.owner, this.of, Date.now())
  }
  begin(walk: Walk) {
    this.walk = walk
    this.show(0)
  }
  goOn() {
    if (!this.half) return
    this.walk = this.half
    const at = resumeAt(this.half, this.screens)
    if (at < this.screens.length) this.show(at)
    else this.#go('summary')
  }

  give(given: Given) {
    const { screen, walk } = this
    if (!screen || !walk) return
    this.#keep({ ...walk, answers: { ...walk.answers, [screen.key]: given } })
  }
  remark(piece: Id, words: string) {
    if (this.walk) this.#keep({ ...this.walk, remarks: { ...this.walk.remarks, [piece]: words } })
  }
  /** Does a check all the same that somebody else recorded meanwhile. */
  again(entry: Entry) {
    if (!this.walk) return
    this.#keep({ ...this.walk, again: [...this.walk.again, keyOf(entry)] })
    this.stage = 'summary'
  }

  next() {
    if (this.at + 1 < this.screens.length) this.show(this.at + 1)
    else this.#go('summary')
  }
  back() {
    if (this.stage === 'summary') this.show(this.screens.length - 1)
    else if (this.at > 0) this.show(this.at - 1)
    else void this.stop()
  }
  show(at: number) {
    const screen = this.screens[Math.max(0, at)]
    if (screen && this.walk) this.#keep({ ...this.walk, at: screen.key })
    this.#go(screen ? 'walk' : 'summary')
  }
  sum() {
    this.#go('summary')
  }
  async stop() {
    if (this.walk) this.#keep(this.walk)
    await this.#written
    this.half = this.walk
    this.#go('choose')
  }

  async sign() {
    if (this.sending || !this.all.length) return
    this.sending = true
    this.fault = ''
    this.before = world.get('rig_standing', this.rig)?.level
    try {
      const done = await send(this.all, async (entry, command) => {
        if (!this.walk) return
        this.#keep({ ...this.walk, sent: { ...this.walk.sent, [keyOf(entry)]: command } })
        await this.#written
      })
      if (!done) return
      await this.#written
      await dropWalk(await disk(), session.owner, this.of)
      this.half = null
      this.#go('sent')
    } catch (why) {
      this.fault =
        (why as { title?: string }).title ?? 'This phone could not keep it. Free some space, then try again.'
    } finally {
      this.sending = false
    }
  }

  #go(stage: Stage) {
    this.stage = stage
    scrollTo(0, 0)
  }
  #keep(walk: Walk) {
    this.walk = { ...walk, touched: Date.now() }
    const kept = this.walk
    const { owner } = session
    this.#written = this.#written
      .then(async () => keepWalk(await disk(), owner, kept))
      .catch(
        () => void (this.fault = 'This phone could not keep the check half done. Do not close the page.'),
      )
  }
}

export const tagOf = (piece: Id) => world.get('piece', piece)?.tag ?? 'a piece'
