// How a rollout is read: weeks, stages, and what holds a rig up. What holds is the server's answer; nothing is decided here.
import type { RigProgress, Rollout, RolloutJoint, RolloutStage, ShiftAnswer } from '@/api/types'
import { mondayOf } from '@/words/newset'
import { dateWords } from '@/words/time'

const noon = (day: string) => Date.parse(`${day.slice(0, 10)}T12:00:00Z`)
const DAY = 86_400_000
const dayOf = (at: number) => new Date(at).toISOString().slice(0, 10)

/** The Mondays that can be planned, from this week on; the one that is planned stands among them, however far it is. */
export function weekChoices(today: string, planned: string | null, weeks = 26): string[] {
  const first = noon(mondayOf(today))
  const all = Array.from({ length: weeks }, (_, n) => dayOf(first + n * 7 * DAY))
  return planned && !all.includes(planned) ? [...all, planned].toSorted() : all
}

/** "This week, from 23 Nov 2026", "Week of 30 Nov 2026", "No week yet". */
export function weekWords(week: string | null | undefined, today: string): string {
  if (!week) return 'No week yet'
  return week === mondayOf(today) ? `This week, from ${dateWords(week)}` : `Week of ${dateWords(week)}`
}

const STAGES: Record<RolloutStage, string> = {
  planned: 'Week',
  received: 'Received',
  accepted: 'Accepted, with readings',
  marked: 'Marked',
  stowed: 'Compartment and card',
  trained: 'Each shift has its minimum',
  apart: 'No banned adapter aboard',
  in_service: 'In service',
  withdrawn: 'Old set withdrawn',
}
export const stageWord = (stage: RolloutStage) => STAGES[stage]

/** Stages after the changeover: they hold nothing up. */
const AFTER: RolloutStage[] = ['in_service', 'withdrawn']

/** How many things hold the changeover up. */
export const heldBy = (rig: Pick<RigProgress, 'stages'>) =>
  rig.stages.filter((one) => !AFTER.includes(one.stage)).reduce((sum, one) => sum + one.held_by.length, 0)

/** What a rig's line says first. */
export function rigMark(rig: Pick<RigProgress, 'stages' | 'ready' | 'changed_over'>) {
  if (rig.changed_over) {
    const open = rig.stages.some((one) => AFTER.includes(one.stage) && !one.done)
    return open
      ? { shape: 'notched', tone: 'weak', word: 'Changed over, not finished' }
      : { shape: 'solid', tone: 'sound', word: 'Changed over' }
  }
  if (rig.ready) return { shape: 'joined', tone: 'sound', word: 'Nothing holds it up today' }
  const held = heldBy(rig)
  return {
    shape: 'held',
    tone: 'stop',
    word: held === 1 ? '1 thing holds it up' : `${held} things hold it up`,
  }
}

/** Stages that are not reached yet before a changeover are not told as held up. */
export const shownStages = (rig: Pick<RigProgress, 'stages' | 'changed_over'>) =>
  rig.changed_over
    ? rig.stages.filter((one) => AFTER.includes(one.stage))
    : rig.stages.filter((one) => !AFTER.includes(one.stage))

export const shiftMark = (shift: ShiftAnswer) => {
  if (!shift.exists) return { shape: 'ended', tone: 'quiet', word: shift.shift }
  return shiftHolds(shift)
    ? { shape: 'barred', tone: 'stop', word: shift.shift }
    : { shape: 'solid', tone: 'sound', word: shift.shift }
}

/** "2 of 6 signed off on the new set; at least 4 needed". */
export function shiftWords({ exists, roster, signed, minimum }: ShiftAnswer): string {
  if (!exists) return 'The station has no such shift, as is on record'
  if (typeof roster !== 'number' || typeof signed !== 'number')
    return 'Nobody knows who belongs to it: enter its roster'
  const of = typeof minimum === 'number' ? `at least ${minimum} needed` : 'no minimum is set'
  return `${signed} of ${roster} signed off on the new set; ${of}`
}
/** Whether it holds its station's changeovers: what is not known does. */
export const shiftHolds = ({ exists, signed, minimum }: ShiftAnswer) =>
  exists && (typeof signed !== 'number' || typeof minimum !== 'number' || signed < minimum)

const VERDICTS: Record<RolloutJoint['verdict'], { shape: string; tone: string; word: string }> = {
  wrong: { shape: 'barred', tone: 'stop', word: 'Wrong' },
  unknown: { shape: 'unknown', tone: 'weak', word: 'Not known' },
  alike: { shape: 'half', tone: 'weak', word: 'Mates' },
}
export const jointMark = (joint: Pick<RolloutJoint, 'verdict'>) => VERDICTS[joint.verdict]

/** Those that run first, then by name. */
export const runningFirst = (all: readonly Rollout[]) =>
  all.toSorted(
    (a, b) =>
      Number(Boolean(a.closed_at)) - Number(Boolean(b.closed_at)) ||
      a.name.localeCompare(b.name, 'en', { numeric: true }),
  )
