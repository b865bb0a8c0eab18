// What runs out, as rows of a spreadsheet: what has ended first, what is not known last.
import type { ServiceLives } from '@/api/types'
import { kindWord, pieceStateWord } from '@/words/piece'
import { partWord } from '@/words/life'

type Life = ServiceLives['dated'][number] | ServiceLives['counted'][number] | ServiceLives['unknown'][number]

export interface LifeNames {
  district(id: string | null): string
  place(life: Life): string
}

const LACKS = { date_of_make: 'date of make', cycles: 'charge cycles' } as const

export function lifeRows(lives: ServiceLives, names: LifeNames): (string | number | null)[][] {
  const head = [
    ...['Tag', 'Kind', 'What of it', 'Model', 'District', 'Place', 'State', 'Lent by'],
    ...['Made', 'Serves until', 'Has ended', 'Charge cycles', 'Of', 'Not known', 'By'],
  ]
  const row = (
    life: Life,
    ends: string | null,
    ended: boolean | null,
    counted: (number | null)[],
    lacks: string | null,
  ) => [
    ...[life.tag, kindWord(life.kind), partWord(life.part), life.model, names.district(life.district)],
    ...[names.place(life), pieceStateWord(life.state), life.lent_by, life.made_on, ends],
    ...[
      ended === null ? null : ended ? 'yes' : 'no',
      ...counted,
      lacks,
      life.source ?? 'the agency’s policy',
    ],
  ]
  return [
    head,
    ...lives.dated.map((life) => row(life, life.ends_on, life.ended, [null, null], null)),
    ...lives.counted.map((life) => row(life, null, life.ended, [life.cycles, life.limit], null)),
    ...lives.unknown.map((life) => row(life, null, null, [null, null], LACKS[life.lacks])),
    ...lives.no_life.map((one) => [
      ...[null, kindWord(one.kind), null, one.models.join(', '), null, null, null, null, null, null, null],
      ...[null, null, `no life is set for ${one.words}`, null],
    ]),
  ]
}

/** The lives that are still to end, month by month. */
export function byMonth(lives: ServiceLives): { month: string; lives: ServiceLives['dated'] }[] {
  const months = new Map<string, ServiceLives['dated']>()
  for (const life of lives.dated) {
    if (life.ended) continue
    const month = life.ends_on.slice(0, 7)
    months.set(month, [...(months.get(month) ?? []), life])
  }
  return [...months].map(([month, of]) => ({ month, lives: of }))
}

/** "41 battery packs": of what no life is set for, in one line; empty where all have one. */
export const noLifeWords = (found: Pick<ServiceLives, 'no_life'>) =>
  found.no_life.map((one) => one.words).join(', ')

/** "3 have run out, 14 more do by 25 Nov 2028", as the headline says it. */
export function headWords(lives: ServiceLives, until: string): string {
  const unset = lives.no_life.length ? `; no life is set for ${noLifeWords(lives)}` : ''
  const ended = [...lives.dated, ...lives.counted].filter((life) => life.ended).length
  const ahead = lives.dated.filter((life) => !life.ended).length
  if (!ended && !ahead) return `Nothing${unset ? ' with a life set' : ''} runs out by ${until}${unset}`
  const past = ended ? `${ended} ${ended === 1 ? 'has' : 'have'} run out` : ''
  const coming = ahead
    ? `${ahead}${ended ? ' more' : ''} ${ahead === 1 ? 'runs' : 'run'} out by ${until}`
    : `none more by ${until}`
  return [past, coming].filter(Boolean).join(', ') + unset
}
