import { IDBFactory } from 'fake-indexeddb'
import { beforeEach, describe, expect, it } from 'vitest'
import type {
  Check,
  CheckDue,
  CheckPlan,
  Kind,
  Member,
  Piece,
  PlanStep,
  Slot,
  StarterPlan,
} from '@/api/types'
import { openDisk } from '@/store/disk'
import { dropWalk, keepWalk, keptWalk } from './kept'
// As `GET /v1/check-plans/starters` answered; check.spec.ts counts what the service has now.
import table from './starters.cases.json'
import { notYours } from '@/words/check'
import {
  asked,
  begin,
  chosenFirst,
  doneMeanwhile,
  facts,
  inOrder,
  isBad,
  KEPT_MS,
  keyOf,
  offers,
  resumeAt,
  screensOf,
  secondsOf,
  sendings,
  still,
  tally,
  type Answered,
  type Walk,
} from './walk'

const starters = table as unknown as StarterPlan[]
const NOW = new Date('2026-11-28T15:00:00Z')
const piece = (id: string, kind: Kind, state = 'in_service') =>
  ({
    id,
    tag: id.toUpperCase(),
    kind,
    model: kind,
    state,
    place: { at: 'rig', rig: 'r' },
  }) as unknown as Piece
const plan = (key: string, more: Partial<CheckPlan> = {}) =>
  ({
    id: key,
    plan: starters.find((one) => one.key === key)?.plan,
    state: 'in_force',
    ...more,
  }) as unknown as CheckPlan
const at = (text: string): CheckDue => ({ state: 'at', at: text, why: 'weekly', counts_from: null })
const LATE = at('2026-11-23T14:00:00Z')
const TONIGHT = at('2026-11-28T23:00:00Z')
const NEXT = at('2026-11-30T14:00:00Z')

const model = (one: Piece) => ({ kind: one.kind, hookup: { coupling: 'c' } }) as never
function walkOf(pieces: Piece[], dues: Record<string, { plan: string; due: CheckDue }[]>): Walk {
  const all = offers(
    pieces,
    (id) => dues[id] ?? [],
    plan,
    () => undefined,
    { role: 'shop', certificate: {} as never, sign_offs: [] },
    NOW,
  )
  return begin('r', pieces, all, model, NOW.getTime())
}
const yes = (walk: Walk, except: Record<string, Answered | null> = {}): Walk => {
  const answers: Walk['answers'] = {}
  for (const { key, step } of screensOf(walk.entries)) {
    const own = except[step.id]
    if (own === null) continue
    const { ask } = step
    if (own) answers[key] = own
    else if (ask.kind === 'yes_no') answers[key] = { said: { kind: 'yes_no', yes: ask.sound } }
    else if (ask.kind === 'choice') answers[key] = { said: { kind: 'choice', option: ask.passing[0] ?? '' } }
  }
  return { ...walk, answers }
}

describe('the order of a walk', () => {
  it('follows the list of the rig, then what is aboard beside it', () => {
    const slots = [{ id: 'a' }, { id: 'b' }] as Slot[]
    const [c, s, h] = [piece('c', 'cutter'), piece('s', 'spreader'), piece('h', 'hose')]
    const filled = [
      { slot: 'a', piece: 's' },
      { slot: 'b', piece: 'c' },
    ]
    expect(inOrder([h, c, s], slots, filled).map((one) => one.id)).toEqual(['s', 'c', 'h'])
  })
  it('offers what is overdue first, chooses what is due, and leaves a technician’s check to a technician', () => {
    const pieces = [piece('s', 'spreader'), piece('c', 'cutter'), piece('gone', 'ram', 'missing')]
    const dues: Record<string, { plan: string; due: CheckDue }[]> = {
      s: [{ plan: 'weekly-spreader', due: NEXT }],
      c: [
        { plan: 'weekly-cutter', due: TONIGHT },
        { plan: 'annual-cutter', due: LATE },
        { plan: 'monthly-cutter', due: LATE },
      ],
      gone: [{ plan: 'weekly-ram', due: LATE }],
    }
    const all = offers(
      pieces,
      (id) => dues[id] ?? [],
      plan,
      () => undefined,
      { role: 'officer', certificate: null, sign_offs: [] },
      NOW,
    )
    expect(all.map((one) => [one.key, one.state])).toEqual([
      ['annual-cutter/c', 'overdue'],
      ['monthly-cutter/c', 'overdue'],
      ['weekly-cutter/c', 'today'],
      ['weekly-spreader/s', 'later'],
    ])
    expect(all[0]?.not).toBe('signed by a technician')
    expect(chosenFirst(all)).toEqual(['monthly-cutter/c', 'weekly-cutter/c'])
    expect(notYours('officer', { role: 'crew', certificate: null, sign_offs: [] })).toBe(
      'signed by an officer',
    )
    expect(notYours('technician', { role: 'shop', certificate: null, sign_offs: [] })).toContain(
      'certificate',
    )
    const off = { kind: 'cutter', family: null, until: '2026-12-01' } as Member['sign_offs'][number]
    const crew = (...sign_offs: Member['sign_offs']) =>
      ({ role: 'crew', certificate: null, sign_offs }) as const
    const mine = (kind: Kind, who = crew(off), family: string | null = null) =>
      notYours('member', who, { kind, family }, '2026-12-01')
    expect(mine('cutter')).toBe('')
    expect(mine('hose')).toBe('')
    expect(mine('spreader')).toContain('not signed off')
    expect(mine('cutter', crew(off), 'Vantor 4')).toContain('not signed off')
    expect(mine('cutter', crew({ ...off, until: '2026-11-30' }))).toContain('not signed off')
    // Nobody keeps sign-offs of this one.
    expect(mine('spreader', crew())).toBe('')
    expect(notYours('officer', null)).toBe('')
  })
  it('asks a piece only what its drive makes sense of, and all of what nobody knows', () => {
    const { steps } = plan('weekly-cutter').plan
    const ids = (hookup: object | undefined) =>
      asked(steps, facts(hookup && ({ kind: 'cutter', hookup } as never))).map((one) => one.id)
    expect(ids({ coupling: 'c' })).not.toContain('pack')
    expect(ids({ battery: { kind: 'x' } })).not.toContain('hose-ends')
    expect(ids({})).toEqual(steps.map((one) => one.id))
    expect(ids(undefined)).toEqual(steps.map((one) => one.id))
  })
  it('asks once what two plans of a piece ask in the same words, and answers both', () => {
    const step = {
      id: 'dry',
      title: 'Dry',
      ask: { kind: 'yes_no', sound: true },
      source: { kind: 'practice' },
    }
    const one = { version: 1, piece: 'c', name: 'x', steps: [{ ...step, fails_as: 'leak' } as PlanStep] }
    const other = { ...one, plan: 'm', steps: [{ ...step, fails_as: 'pressure' } as PlanStep] }
    const entries = [{ ...one, plan: 'w' }, other]
    const screens = screensOf(entries)
    expect(screens).toHaveLength(1)
    const walk: Walk = {
      ...begin('r', [], [], model, 0),
      entries,
      answers: { [screens[0]?.key ?? '']: { said: { kind: 'yes_no', yes: false }, words: 'Wet' } },
    }
    const sent = sendings(entries, screens, walk)
    expect(sent.map((s) => [s.body.plan, s.body.answers.length])).toEqual([
      ['w', 1],
      ['m', 1],
    ])
    expect(sent.map((s) => s.body.findings?.[0]?.words)).toEqual(['Wet', 'Wet'])
    expect(screensOf([one, { ...one, piece: 'd' }].map((e) => ({ ...e, plan: 'w' })))).toHaveLength(2)
  })
})

describe('going on later', () => {
  beforeEach(() => {
    globalThis.indexedDB = new IDBFactory()
  })
  const walk = walkOf([piece('c', 'cutter')], { c: [{ plan: 'weekly-cutter', due: LATE }] })
  const screens = screensOf(walk.entries)

  it('comes back to the screen that was open, else to the first that nobody answered or left', () => {
    const [a, b, c] = screens.map((one) => one.key) as [string, string, string]
    expect(resumeAt({ ...walk, at: b }, screens)).toBe(1)
    const some: Walk['answers'] = { [a]: { said: { kind: 'yes_no', yes: true } }, [b]: { skipped: true } }
    expect(resumeAt({ ...walk, at: a, answers: some }, screens)).toBe(2)
    expect(resumeAt({ ...walk, at: 'of a plan that is gone', answers: some }, screens)).toBe(2)
    expect(resumeAt(yes({ ...walk, at: c }), screens)).toBe(screens.length)
  })
  it('is there after the browser was closed, for a day, for whoever began it', async () => {
    const then = walk.touched
    const first = await openDisk()
    await keepWalk(first, 'me', walk)
    await keepWalk(first, 'me', { ...walk, of: 'other' })
    first.close()
    const again = await openDisk()
    expect(await keptWalk(again, 'me', 'r', then + KEPT_MS)).toEqual(walk)
    expect(await keptWalk(again, 'me', 'r', then + KEPT_MS + 1)).toBeNull()
    expect(await keptWalk(again, 'you', 'r', then)).toBeNull()
    await dropWalk(again, 'me', 'r')
    expect(await keptWalk(again, 'me', 'r', then)).toBeNull()
    expect((await keptWalk(again, 'me', 'other', then))?.of).toBe('other')
    again.close()
  })
  it('leaves out what somebody else recorded since it began, unless it is chosen', () => {
    const [entry] = walk.entries
    if (!entry) throw new Error('no entry')
    const by = (id: string, when: string) =>
      doneMeanwhile(walk, entry, { done_at: when, done_by: { id, name: 'Ito' } } as Check, 'me')
    expect(by('you', '2026-11-28T15:04:00Z')).toEqual({
      by: { id: 'you', name: 'Ito' },
      at: '2026-11-28T15:04:00Z',
    })
    expect(by('you', '2026-11-28T14:59:00Z')).toBeUndefined()
    expect(by('me', '2026-11-28T15:04:00Z')).toBeUndefined()
    expect(still(walk, () => true)).toEqual([])
    expect(still({ ...walk, again: [keyOf(entry)] }, () => true)).toEqual([entry])
    expect(still({ ...walk, sent: { [keyOf(entry)]: 'id' } }, () => false)).toEqual([])
  })
})

describe('what is sent', () => {
  const pieces = [piece('c', 'cutter'), piece('s', 'spreader')]
  const walk = walkOf(pieces, {
    c: [{ plan: 'weekly-cutter', due: LATE }],
    s: [{ plan: 'weekly-spreader', due: LATE }],
  })
  const screens = screensOf(walk.entries)

  it('is one check for each piece and plan of which something was answered, and no answer that nobody gave', () => {
    expect(sendings(walk.entries, screens, walk)).toEqual([])
    const done = yes(walk)
    const all = sendings(walk.entries, screens, done)
    expect(all.map((one) => one.body.piece)).toEqual(['c', 's'])
    expect(all[0]?.body.answers).toHaveLength(walk.entries[0]?.steps.length ?? 0)
    const round = new Date(done.begun).toISOString()
    expect(all[0]?.body.walk).toEqual({ began_at: round, ended_at: round, answers: screens.length })
    expect(all[0]?.body).not.toHaveProperty('note')
    expect(all[0]?.body).not.toHaveProperty('findings')
    const key = screens[0]?.key ?? ''
    const skipped = { ...done, answers: { ...done.answers, [key]: { skipped: true } as const } }
    const [less] = sendings(walk.entries, screens, skipped)
    expect(less?.body.answers).toHaveLength((all[0]?.body.answers.length ?? 0) - 1)
    const [entry] = walk.entries
    expect(entry && tally(entry, screens, skipped.answers)).toMatchObject({
      asked: all[0]?.body.answers.length,
      answered: less?.body.answers.length,
      bad: [],
    })
  })
  it('says what was seen of a failed step, and that it stays usable only where that was said', () => {
    const blades: Answered = {
      said: { kind: 'yes_no', yes: false },
      words: ' Nick near the tip ',
      photos: ['ab'],
      usable: true,
    }
    const [one, other] = sendings(
      walk.entries,
      screens,
      yes({ ...walk, remarks: { c: 'Handle loose' } }, { blades }),
    )
    const finding = { step: 'blades', words: 'Nick near the tip', photos: ['ab'], usable: true }
    expect(one?.body.findings).toEqual([finding])
    expect(one?.body.note).toBe('Handle loose')
    expect(one?.photos).toEqual(['ab'])
    expect(other?.body).not.toHaveProperty('findings')
  })
  it('drops what was said of a step that is sound after all', () => {
    const blades: Answered = { said: { kind: 'yes_no', yes: true }, words: 'Looked bent', usable: true }
    const [one] = sendings(walk.entries, screens, yes(walk, { blades }))
    expect(one?.body).not.toHaveProperty('findings')
  })
  it('calls a number bad only by a fixed limit, and leaves the rest to the service', () => {
    const { steps } = plan('annual-cutter').plan
    const of = (id: string, value: number, unit: string) => {
      const step = steps.find((one) => one.id === id)
      if (!step) throw new Error(id)
      return isBad(step, { said: { kind: 'number', value: { value, unit } } })
    }
    expect(of('hold', 9.9, 's')).toBe(true)
    expect(of('hold', 10, 's')).toBe(false)
    expect(of('hold', 1, 'min')).toBe(false)
    expect(of('pressure', 1, 'psi')).toBe(false)
    expect(of('opening', 1.9, 's')).toBe(true)
  })
})

describe('a thumb that reads', () => {
  it('walks the weekly checks of a rig of eight pieces in four minutes at most', () => {
    const kinds: Kind[] = ['power_unit', 'hose', 'hose', 'cutter', 'spreader', 'ram', 'ram', 'accessory']
    const pieces = kinds.map((kind, i) => piece(`p${i}`, kind))
    const weekly = (kind: Kind) => `weekly-${kind.replaceAll('_', '-')}`
    const dues = Object.fromEntries(pieces.map((p) => [p.id, [{ plan: weekly(p.kind), due: LATE }]]))
    const screens = screensOf(walkOf(pieces, dues).entries)
    // 1 s for each step, 2 s more for a caution.
    expect([screens.length, secondsOf(screens)]).toEqual([50, 128])
    expect(secondsOf(screens)).toBeLessThanOrEqual(240)
  })
})
