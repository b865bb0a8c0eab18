// A walk round a rig: which steps, in which order, what was answered, and what is sent of it. Nothing here shows or keeps anything.
import type {
  BodyOf,
  Check,
  CheckDue,
  CheckPlan,
  Filling,
  Gear,
  Hookup,
  Id,
  Kind,
  Member,
  Model,
  Person,
  Piece,
  PlanStep,
  Slot,
  StepSaid,
} from '@/api/types'
import { notYours } from '@/words/check'
import { asksToday, dueState, type DueState } from '@/words/due'
import { byKind } from '@/words/piece'
import { dateIn } from '@/words/time'
import { soundness } from '@/words/sound'

/** One plan for one piece, as it stood when the walk began: that version is answered, whatever becomes of the plan meanwhile. */
export interface Entry {
  plan: Id
  version: number
  name: string
  piece: Id
  /** The steps that such a piece is asked. */
  steps: PlanStep[]
}
/** One screen: a step that one plan of a piece asks, or several in the same words. */
export interface Screen {
  key: string
  piece: Id
  step: PlanStep
  entries: Entry[]
}
export interface Answered {
  said: StepSaid
  /** Of a step that is not sound: what was seen, photos of it, and whether it is still usable by the member's word. */
  words?: string
  photos?: string[]
  usable?: boolean
}
/** `skipped`: it cannot be done now, and stays not answered. */
export type Given = Answered | { skipped: true }
export interface Walk {
  /** The rig or the piece that it goes round. */
  of: Id
  /** When it began, and when it was last answered, by this phone's clock, milliseconds. */
  begun: number
  touched: number
  entries: Entry[]
  answers: Record<string, Given>
  /** The screen that was open. */
  at: string
  /** What else was seen of a piece. */
  remarks: Record<Id, string>
  /** Checks that somebody else recorded meanwhile and that are done here all the same. */
  again: string[]
  /** What has been queued: which command answers which check. */
  sent: Record<string, Id>
}

/** A walk that nobody went on with for so long is no check of today; photos that nothing names are kept as long. */
export const KEPT_MS = 24 * 3_600_000

export const keyOf = (one: { plan: Id; piece: Id }) => `${one.plan}/${one.piece}`

/** The pieces as the rig's list has them, then what is aboard beside it. */
export function inOrder(
  pieces: Piece[],
  slots: Slot[],
  fillings: Pick<Filling, 'slot' | 'piece'>[],
): Piece[] {
  const place = (piece: Piece) => {
    const slot = fillings.find((one) => one.piece === piece.id)?.slot
    const at = slots.findIndex((one) => one.id === slot)
    return at < 0 ? slots.length : at
  }
  return pieces.toSorted((a, b) => place(a) - place(b) || byKind(a, b))
}

const TOOLS: Kind[] = ['cutter', 'spreader', 'combination_tool', 'ram']
/** What the service reads out of a model: what drives the piece, and which accessory it is. What is not known leaves a step in. */
export function facts(model: { kind: Kind; hookup?: Partial<Hookup>; gear?: Gear | null } | undefined) {
  if (!model) return { drive: null, gear: null }
  const { kind, hookup } = model
  const tool = TOOLS.includes(kind)
  const drive =
    kind === 'hand_pump' ? 'hand' : hookup?.battery ? 'battery' : tool && hookup?.coupling ? 'hose' : null
  return { drive, gear: model.gear ?? null } as const
}
export function asked(steps: PlanStep[], { drive, gear }: ReturnType<typeof facts>): PlanStep[] {
  return steps.filter(({ applies }) => {
    const { drives = [], gear: gears = [] } = applies ?? {}
    return (
      (!drives.length || !drive || drives.includes(drive)) && (!gears.length || !gear || gears.includes(gear))
    )
  })
}

/** A check that a plan asks of a piece, as the list shows it before the walk. */
export interface Offer {
  key: string
  plan: CheckPlan
  piece: Piece
  due: CheckDue
  state: DueState
  not: string
}
const RANK: DueState[] = ['overdue', 'today', 'unknown', 'later', 'not_yet']
export function offers(
  pieces: Piece[],
  duesOf: (piece: Id) => { plan: Id; due: CheckDue }[],
  planOf: (id: Id) => CheckPlan | undefined,
  modelOf: (piece: Piece) => Pick<Model, 'kind' | 'family'> | undefined,
  member: Pick<Member, 'role' | 'certificate' | 'sign_offs'> | null,
  now: Date,
): Offer[] {
  const all = pieces
    .filter((piece) => piece.state === 'in_service' || piece.state === 'out_of_service')
    .flatMap((piece) =>
      duesOf(piece.id).flatMap(({ plan: id, due }): Offer[] => {
        const plan = planOf(id)
        if (!plan || plan.state !== 'in_force') return []
        const state = dueState(due, now)
        const not = notYours(plan.plan.signer, member, modelOf(piece), dateIn(now))
        return [{ key: keyOf({ plan: id, piece: piece.id }), plan, piece, due, state, not }]
      }),
    )
  // The order of the pieces stays within each group: sorting is stable.
  return all.toSorted((a, b) => RANK.indexOf(a.state) - RANK.indexOf(b.state))
}
export const chosenFirst = (all: Offer[]) =>
  all.filter((one) => !one.not && asksToday(one.state)).map((one) => one.key)

/** The walk of the chosen checks: by piece in the order of the list, of a piece what is due first. */
export function begin(
  of: Id,
  pieces: Piece[],
  chosen: Offer[],
  modelOf: (piece: Piece) => Parameters<typeof facts>[0],
  now: number,
): Walk {
  const entries = pieces.flatMap((piece) =>
    chosen
      .filter((one) => one.piece.id === piece.id)
      .map(({ plan }): Entry => ({
        plan: plan.id,
        version: plan.plan.version,
        name: plan.plan.name,
        piece: piece.id,
        steps: asked(plan.plan.steps, facts(modelOf(piece))),
      })),
  )
  return { of, begun: now, touched: now, entries, answers: {}, at: '', remarks: {}, again: [], sent: {} }
}

/** Two plans that ask the same of a piece in the same words ask it once. */
const sameStep = (piece: Id, { id, title, ask }: PlanStep) =>
  [piece, id, title, JSON.stringify(ask)].join('|')

export function screensOf(entries: Entry[]): Screen[] {
  const all = new Map<string, Screen>()
  const pieces = [...new Set(entries.map((one) => one.piece))]
  for (const piece of pieces)
    for (const entry of entries.filter((one) => one.piece === piece))
      for (const step of entry.steps) {
        const key = sameStep(piece, step)
        const known = all.get(key)
        if (known) known.entries.push(entry)
        else all.set(key, { key, piece, step, entries: [entry] })
      }
  return [...all.values()]
}

/** Who recorded the check since this walk began; undefined: nobody, or whoever walks here. */
export function doneMeanwhile(
  walk: Pick<Walk, 'begun' | 'sent'>,
  entry: Entry,
  check: Pick<Check, 'done_at' | 'done_by'> | undefined,
  me: Id | null | undefined,
): { by: Person; at: string } | undefined {
  if (!check || walk.sent[keyOf(entry)] || Date.parse(check.done_at) < walk.begun) return undefined
  return check.done_by.id === me ? undefined : { by: check.done_by as Person, at: check.done_at }
}

/** The checks that are still walked: not those that somebody else did meanwhile, unless chosen, and not what is queued. */
export const still = (walk: Walk, taken: (entry: Entry) => boolean): Entry[] =>
  walk.entries.filter((entry) => {
    const key = keyOf(entry)
    return !walk.sent[key] && (walk.again.includes(key) || !taken(entry))
  })

const answeredOf = (given: Given | undefined): Answered | undefined =>
  given && 'said' in given ? given : undefined
export const isBad = (step: PlanStep, given: Given | undefined): boolean => {
  const answer = answeredOf(given)
  return answer !== undefined && soundness(step.ask, answer.said) === false
}

/** Where a walk goes on: the screen that was open, else the first that nobody has answered or left. */
export function resumeAt(walk: Walk, screens: Screen[]): number {
  const at = screens.findIndex((one) => one.key === walk.at)
  if (at >= 0 && !walk.answers[walk.at]) return at
  const open = screens.findIndex((one) => !walk.answers[one.key])
  return open < 0 ? screens.length : open
}
export const isStale = (walk: Walk, now: number) => now - walk.touched > KEPT_MS

export interface Tally {
  asked: number
  answered: number
  open: Screen[]
  bad: Screen[]
}
export function tally(entry: Entry, screens: Screen[], answers: Walk['answers']): Tally {
  const own = screens.filter((one) => one.entries.some((other) => keyOf(other) === keyOf(entry)))
  const done = own.filter((one) => answeredOf(answers[one.key]))
  return {
    asked: own.length,
    answered: done.length,
    open: own.filter((one) => !done.includes(one)),
    bad: done.filter((one) => isBad(one.step, answers[one.key])),
  }
}

const MOST_NOTE = 4000
/** What is sent for one check, with the photos that it names. */
export interface Sending {
  entry: Entry
  body: BodyOf<'check.record'>
  photos: string[]
}
/** How long the round took, by this phone's clock, and how many steps were answered in it. */
function walked(walk: Walk): Pick<BodyOf<'check.record'>, 'walk'> {
  const answers = Object.values(walk.answers).filter((given) => answeredOf(given)).length
  if (!answers || walk.touched < walk.begun) return {}
  const [began_at, ended_at] = [walk.begun, walk.touched].map((at) => new Date(at).toISOString())
  return { walk: { began_at: began_at ?? '', ended_at: ended_at ?? '', answers } }
}
/** Null where nothing was answered. */
export function sendingOf(entry: Entry, screens: Screen[], walk: Walk): Sending | null {
  const own = screens.flatMap((screen) => {
    const given = answeredOf(walk.answers[screen.key])
    const mine = screen.entries.some((one) => keyOf(one) === keyOf(entry))
    const step = entry.steps.find((one) => one.id === screen.step.id) ?? screen.step
    return given && mine ? [{ step, given }] : []
  })
  if (!own.length) return null
  const bad = own.filter(({ step, given }) => isBad(step, given))
  const note = walk.remarks[entry.piece]?.trim().slice(0, MOST_NOTE)
  const findings = bad.map(({ step, given }) => ({
    step: step.id,
    words: given.words?.trim() || null,
    photos: given.photos ?? [],
    usable: given.usable ?? false,
  }))
  const body: BodyOf<'check.record'> = {
    plan: entry.plan,
    version: entry.version,
    piece: entry.piece,
    answers: own.map(({ step, given }) => ({ step: step.id, said: given.said })),
    ...(findings.length ? { findings } : {}),
    ...(note ? { note } : {}),
    ...walked(walk),
  }
  const named = own.flatMap(({ given }) => (given.said.kind === 'photo' ? given.said.photo : []))
  return { entry, body, photos: [...named, ...findings.flatMap((one) => one.photos)] }
}
/** Of each check that is still walked and of which something was answered. */
export const sendings = (entries: Entry[], screens: Screen[], walk: Walk): Sending[] =>
  entries.flatMap((entry) => sendingOf(entry, screens, walk) ?? [])

/** Seconds that a thumb needs that reads: one for each step, two more for a caution. */
export const secondsOf = (screens: Screen[]) =>
  screens.reduce((sum, { step }) => sum + 1 + (step.caution ? 2 : 0), 0)
