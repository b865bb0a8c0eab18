// What members are known to be able to do, and what of it runs out.
import type { Kind, Member, Model, SignOff } from '@/api/types'
import { kindWord } from '@/words/piece'
import { capital } from '@/words/plans'
import { dateWords } from '@/words/time'
import type { Handled } from '@/words/signoff'

/** So far ahead a run-out stands on top. */
export const AHEAD_DAYS = 60

const noon = (day: string) => Date.parse(`${day.slice(0, 10)}T12:00:00Z`)
/** Whole days from one calendar day to another. */
export const daysTo = (from: string, to: string) => Math.round((noon(to) - noon(from)) / 86_400_000)
export function dayAfter(day: string, days: number): string {
  return new Date(noon(day) + days * 86_400_000).toISOString().slice(0, 10)
}
/** The same day a year on; of 29 February the 28th. */
export function yearAfter(day: string): string {
  const year = Number(day.slice(0, 4)) + 1
  const same = `${year}${day.slice(4, 10)}`
  const leap = new Date(Date.UTC(year, 1, 29)).getUTCDate() === 29
  return same.endsWith('-02-29') && !leap ? `${year}-02-28` : same
}

/** The last day counts: "ran out 1 Nov 2026", "today is the last day", "12 more days, until 10 Dec 2026", "until 3 Mar 2027". */
export function endWords(until: string, today: string): string {
  const days = daysTo(today, until)
  if (days < 0) return `ran out ${dateWords(until)}`
  if (days === 0) return 'today is the last day'
  if (days <= AHEAD_DAYS) return `${days} more ${days === 1 ? 'day' : 'days'}, until ${dateWords(until)}`
  return `until ${dateWords(until)}`
}
export function endMark(until: string, today: string) {
  const days = daysTo(today, until)
  if (days < 0) return { shape: 'barred', tone: 'stop', word: endWords(until, today) }
  if (days <= AHEAD_DAYS) return { shape: 'notched', tone: 'weak', word: endWords(until, today) }
  return { shape: 'solid', tone: 'quiet', word: endWords(until, today) }
}

/** "cutter", "Sparrowhale 54 ram". */
export const handledWord = ({ kind, family }: Handled) =>
  `${family ? `${family} ` : ''}${kindWord(kind).toLowerCase()}`

/** The families that models name, each with the kinds that it has, by name. Two spellings that differ in capitals are one. */
export function familiesOf(models: Pick<Model, 'kind' | 'family'>[]): { family: string; kinds: Kind[] }[] {
  const all = new Map<string, { family: string; kinds: Kind[] }>()
  for (const { kind, family } of models) {
    if (!family) continue
    const known = all.get(family.toLowerCase())
    if (!known) all.set(family.toLowerCase(), { family, kinds: [kind] })
    else if (!known.kinds.includes(kind)) known.kinds.push(kind)
  }
  return [...all.values()].toSorted((a, b) => a.family.localeCompare(b.family, 'en', { numeric: true }))
}

export interface RunOut {
  key: string
  member: Member
  what: string
  until: string
}
/** Gear by the day on which it ends: what was signed off in one go runs out in one line. */
function byEnd(all: SignOff[], end: (one: SignOff) => string): [until: string, gear: string][] {
  const days = new Map<string, string[]>()
  for (const one of all) days.set(end(one), [...(days.get(end(one)) ?? []), handledWord(one)])
  return [...days].map(([until, gear]) => [until, gear.join(', ')])
}

/** What has run out or does within the days, soonest first, of members who may sign in. */
export function runOuts(members: Member[], today: string, days = AHEAD_DAYS): RunOut[] {
  const last = dayAfter(today, days)
  return members
    .filter((one) => one.active)
    .flatMap((member) => [
      ...byEnd(member.sign_offs, (one) => one.until).map(([until, gear]) => ({
        key: `${member.id}/${until}`,
        member,
        what: capital(gear),
        until,
      })),
      // Whoever is not signed off any more is signed off anew, and not asked for practice.
      ...byEnd(
        member.sign_offs.filter((one) => one.until >= today && one.practise_by < one.until),
        (one) => one.practise_by,
      ).map(([until, gear]) => ({
        key: `${member.id}/${until}/practice`,
        member,
        what: `Yearly practice, ${gear}`,
        until,
      })),
      ...(member.certificate
        ? [
            {
              key: `${member.id}/certificate`,
              member,
              what: `Certificate, ${member.certificate.paper}`,
              until: member.certificate.until,
            },
          ]
        : []),
    ])
    .filter((one) => one.until <= last)
    .toSorted((a, b) => a.until.localeCompare(b.until) || a.member.name.localeCompare(b.member.name))
}

/** Where a member may act, as one choice of a form: nothing for the whole agency. */
export const reachOf = (member: Pick<Member, 'district' | 'station'>) =>
  member.station ? `s/${member.station}` : member.district ? `d/${member.district}` : ''
export const reachFields = (reach: string) => ({
  district: reach.startsWith('d/') ? reach.slice(2) : null,
  station: reach.startsWith('s/') ? reach.slice(2) : null,
})
