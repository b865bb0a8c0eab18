// What would make a plan possible, as changes of its inputs.
import type { DueYear, PlanAsk, Relief } from '@/api/types'
import { count, firstDayOf, hoursWords, lastDayOf, runWords, shortDay, unitOf } from './weeks'

export interface Help {
  key: string
  /** What is changed. */
  words: string
  /** What that means in the service itself. */
  means: string
  apply: (ask: PlanAsk) => PlanAsk
}

/** Reliefs that change the same input, drawn together: a district’s in their weeks alone, a shop’s hours in all of them by the largest need. */
export function helpsOf(reliefs: Relief[], asked: PlanAsk, due: DueYear): Help[] {
  const groups = new Map<string, Relief[]>()
  for (const relief of reliefs) {
    const key = relief.district ?? relief.shop ?? 'windows'
    groups.set(key, [...(groups.get(key) ?? []), relief])
  }
  return [...groups].map(([key, group]) => {
    const when = whenWords(
      asked,
      group.flatMap((relief) => relief.period ?? []),
    )
    const first = group[0]
    if (first?.district) return inDistrict(key, group, when, asked, due)
    if (first?.shop) return atShop(key, group, when, asked, due)
    return wider(key, group)
  })
}

/** Few weeks by name, many by their number. */
function whenWords(asked: PlanAsk, periods: number[]): string {
  const words = runWords(asked, periods)
  if (words.split(', ').length <= 3) return words
  const from = shortDay(firstDayOf(asked, Math.min(...periods)))
  const until = shortDay(lastDayOf(asked, Math.max(...periods)))
  return `${count(new Set(periods).size, unitOf(asked.period_days))} from ${from} to ${until}`
}

function inDistrict(district: string, group: Relief[], when: string, asked: PlanAsk, due: DueYear): Help {
  const known = due.districts.find((one) => one.id === district)
  const name = known?.name ?? 'the district'
  const more = Math.max(...group.map((relief) => relief.more))
  const cap = asked.caps.find((one) => one.district === district)
  const said = (period: number) =>
    cap?.periods.find((own) => own.period === period)?.most_away ?? cap?.most_away
  // Where nobody said a number, every stand-in of the district may be in use already.
  const spares = (period: number) => said(period) ?? (known?.by_period[period] ?? 0) + (known?.stand_ins ?? 0)
  const periods = group.map((relief) => {
    const period = relief.period ?? 0
    return { period, most_away: spares(period) + relief.more }
  })
  const least = Math.min(...periods.map((own) => own.most_away))
  const most = Math.max(...periods.map((own) => own.most_away))
  return {
    key: district,
    words: `${more === 1 ? 'One more stand-in' : `${more} more stand-ins`} for ${name} in ${when}`,
    means: `${name} then spares ${least === most ? count(most, 'set') : `${least} to ${most} sets`} at once there, in no other ${unitOf(asked.period_days)}. Have ${more === 1 ? 'that stand-in' : 'those stand-ins'} on its shelf by then, or lower its minimum.`,
    apply: (ask) => {
      const own = ask.caps.find((one) => one.district === district)
      const kept = own?.periods.filter((one) => !periods.some(({ period }) => period === one.period)) ?? []
      return {
        ...ask,
        caps: [
          ...ask.caps.filter((one) => one.district !== district),
          {
            district,
            most_away: own?.most_away ?? null,
            periods: [...kept, ...periods].sort((one, other) => one.period - other.period),
          },
        ],
      }
    },
  }
}

function atShop(shop: string, group: Relief[], when: string, asked: PlanAsk, due: DueYear): Help {
  const known = due.shops.find((one) => one.id === shop)
  const name = known?.name ?? 'the shop'
  const had = asked.shops.find((one) => one.shop === shop)
  const needs = group.map((relief) => relief.more + (known?.hours[relief.period ?? 0] ?? 0))
  const hours = Math.max(had?.hours ?? 0, ...needs)
  const opened = new Set(group.flatMap((relief) => relief.period ?? []))
  const opens = had?.closed.filter((period) => opened.has(period)) ?? []
  const more = hours - (had?.hours ?? 0)
  const what = [
    ...(more > 0 ? [`${hoursWords(more)} more at ${name} in ${when}`] : []),
    ...(opens.length ? [`${more > 0 ? 'open it' : `Open ${name}`} in ${whenWords(asked, opens)}`] : []),
  ].join(', and ')
  return {
    key: shop,
    words: what,
    means: `${name} then has ${hoursWords(hours)} in each week of the plan${opens.length ? ', and is open where it was closed' : ''}.`,
    apply: (ask) => ({
      ...ask,
      shops: ask.shops.map((one) =>
        one.shop === shop
          ? { ...one, hours, closed: one.closed.filter((period) => !opened.has(period)) }
          : one,
      ),
    }),
  }
}

function wider(key: string, group: Relief[]): Help {
  return {
    key,
    words: `Two weeks more before and after each due day: ${group.map((relief) => relief.words).join(', ')}`,
    means: 'A set may then go 14 days earlier and 14 days later than before.',
    apply: (ask) => ({ ...ask, early_days: ask.early_days + 14, late_days: ask.late_days + 14 }),
  }
}
