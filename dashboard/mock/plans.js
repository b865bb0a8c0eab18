// Service plans in the mock: sets for its rigs, what is due, a greedy search that takes its time, and the records.
import { MAY } from './commands.js'

const DAY = 86_400_000
const at = (day) => Date.parse(`${day}T00:00:00Z`)
const add = (day, n) => new Date(at(day) + n * DAY).toISOString().slice(0, 10)
const today = () => new Date().toISOString().slice(0, 10)
const KINDS = ['service_plan.save', 'service_plan.edit', 'service_plan.publish', 'service_plan.withdraw']
const full = (body) => ({
  period_days: 7,
  periods: 52,
  early_days: 28,
  late_days: 28,
  hours_per_set: 4,
  hours: [],
  shops: [],
  caps: [],
  pins: [],
  ...body,
})

/** Answers an address of service plans; false when it is another's. */
export async function planDoor({ req, res, route, world, known, json, read }) {
  prepare(world)
  if (!known || !route.includes('/v1/service-plans')) return false
  if (route === 'GET /v1/service-plans')
    return (json(res, 200, { items: world.all('service_plan'), next: null }), true)
  const ask = req.method === 'POST' ? full(JSON.parse(await read(req))) : null
  if (route === 'POST /v1/service-plans/due') return (json(res, 200, dueOf(world, ask)), true)
  if (route === 'POST /v1/service-plans/work') return (search(res, ask, dueOf(world, ask)), true)
  return false
}

/** Once: a set for each rig, and the commands of service plans. */
function prepare(world) {
  if (world.all('tool_set').length) return
  world.write(() => {
    for (const rig of world.all('rig')) {
      const id = crypto.randomUUID()
      world.save('tool_set', { id, name: `${rig.name} set`, home: { at: 'rig', rig: rig.id } })
      for (const piece of world.all('piece'))
        if (piece.place.at === 'rig' && piece.place.rig === rig.id)
          world.save('piece', { ...piece, tool_set: id })
    }
  })
  for (const role of ['coordinator', 'admin', 'shop']) MAY[role].push(...KINDS)
  const inner = world.command
  world.command = (member, command) =>
    KINDS.includes(command.kind) ? act(world, member, command) : inner(member, command)
}

function act(world, member, { id, kind, body }) {
  return world.write(() => {
    const known = world.get('service_plan', body.id)
    const { asked, visits } = { ...known, ...body }
    const load = new Map()
    for (const v of visits)
      load.set(`${v.shop}/${v.period}`, (load.get(`${v.shop}/${v.period}`) ?? 0) + v.hours)
    const plan = {
      note: null,
      published_at: null,
      published_by: null,
      state: 'draft',
      ...known,
      ...body,
      first_day: asked.first_day,
      period_days: asked.period_days,
      periods: asked.periods,
      lateness: visits.reduce((n, v) => n + v.late, 0),
      peak_hours: Math.max(0, ...load.values()),
    }
    if (kind.endsWith('withdraw')) plan.state = 'withdrawn'
    if (kind.endsWith('publish'))
      Object.assign(plan, {
        state: 'published',
        published_at: new Date().toISOString(),
        published_by: member.name,
      })
    const saved = world.save('service_plan', plan)
    return {
      id,
      outcome: 'applied',
      revision: world.revision,
      records: [{ kind: 'service_plan', id: plan.id, rev: saved.rev }],
    }
  })
}

function dueOf(world, ask) {
  const period = (day) => Math.floor((at(day) - at(ask.first_day)) / DAY / ask.period_days)
  const clip = (n) => Math.max(0, Math.min(ask.periods - 1, n))
  const sets = world.all('tool_set').flatMap((set, i) => {
    const due_on = add(today(), ((i * 53) % 340) - 20)
    if (period(add(due_on, -ask.early_days)) >= ask.periods) return []
    const overdue = due_on < ask.first_day
    const rig = world.get('rig', set.home.rig)
    return [
      {
        set: set.id,
        name: set.name,
        district: world.get('station', rig.station).district,
        home_words: rig.name,
        pieces: world.all('piece').filter((p) => p.tool_set === set.id).length,
        due_on,
        due_period: clip(period(due_on)),
        earliest: clip(period(add(due_on, -ask.early_days))),
        latest: clip(period(add(overdue ? ask.first_day : due_on, ask.late_days))),
        hours: ask.hours.find((h) => h.set === set.id)?.hours ?? ask.hours_per_set,
        overdue,
        takes_place: true,
        words: `It is due on ${due_on}.`,
      },
    ]
  })
  const districts = world.all('district').map((d) => {
    const rigs = world.all('rig').filter((r) => world.get('station', r.station).district === d.id)
    const ready = rigs.filter((r) => world.get('capability', r.id)?.level === 'full').length
    const minimum = d.min_full ?? 1
    const most_away = ask.caps.find((c) => c.district === d.id)?.most_away ?? Math.max(0, ready - minimum)
    return { id: d.id, name: d.name, full: ready, minimum, stand_ins: 0, most_away }
  })
  return {
    periods: Array.from({ length: ask.periods }, (_, n) => {
      const first_day = add(ask.first_day, n * ask.period_days)
      return { first_day, last_day: add(first_day, ask.period_days - 1), name: `the week of ${first_day}` }
    }),
    sets: sets.sort((a, b) => a.due_on.localeCompare(b.due_on)),
    districts,
    shops: ask.shops.map((s) => ({
      id: s.shop,
      name: world.get('shop', s.shop)?.name ?? '',
      hours: Array.from({ length: ask.periods }, (_, n) => (s.closed.includes(n) ? 0 : s.hours)),
    })),
    left_out: [],
  }
}

/** Tells its progress for some seconds, then answers. */
function search(res, ask, due) {
  res.writeHead(200, { 'content-type': 'application/x-ndjson', 'cache-control': 'no-store' })
  let share = 0
  const timer = setInterval(() => {
    share += 0.04
    const words = share < 0.2 ? 'looking for a plan with less lateness' : 'reckoning how low the peak can be'
    if (share < 0.4) return res.write(`${JSON.stringify({ progress: { share, words } })}\n`)
    clearInterval(timer)
    res.end(`${JSON.stringify({ answer: answerOf(ask, due) })}\n`)
  }, 400)
  res.on('close', () => clearInterval(timer))
}

export function answerOf(ask, due) {
  const away = new Map()
  const load = new Map()
  const visits = []
  const stuck = []
  const count = (map, key) => map.get(key) ?? 0
  const take = (set, period, shop) => {
    away.set(`${set.district}/${period}`, count(away, `${set.district}/${period}`) + 1)
    load.set(`${shop}/${period}`, count(load, `${shop}/${period}`) + set.hours)
    const pinned = ask.pins.some((pin) => pin.set === set.set)
    const { name, district, hours, due_on } = set
    visits.push({
      set: set.set,
      name,
      district,
      period,
      shop,
      hours,
      due_on,
      late: Math.max(0, period - set.due_period),
      pinned,
    })
  }
  const pin = (set) => ask.pins.find((one) => one.set === set.set)
  for (const set of due.sets) if (pin(set)) take(set, pin(set).period, pin(set).shop)
  for (const set of due.sets) {
    if (pin(set)) continue
    const cap = due.districts.find((d) => d.id === set.district)?.most_away ?? Infinity
    const places = []
    for (let period = set.earliest; period <= set.latest; period++)
      for (const shop of due.shops)
        if (
          (set.takes_place === false || count(away, `${set.district}/${period}`) < cap) &&
          count(load, `${shop.id}/${period}`) + set.hours <= shop.hours[period]
        )
          places.push({ period, shop: shop.id, late: Math.max(0, period - set.due_period) })
    places.sort(
      (a, b) =>
        a.late - b.late || count(load, `${a.shop}/${a.period}`) - count(load, `${b.shop}/${b.period}`),
    )
    if (places[0]) take(set, places[0].period, places[0].shop)
    else stuck.push(set)
  }
  const hours = (shop) => due.periods.map((_, period) => count(load, `${shop.id}/${period}`))
  const lateness = visits.reduce((n, v) => n + v.late, 0)
  const peak = Math.max(0, ...load.values())
  const name = (district) => due.districts.find((d) => d.id === district)?.name
  const week = (period) => due.periods[period].name
  const plan = {
    verdict: stuck.length ? 'impossible' : 'planned',
    plan: visits.map(({ set, period, shop, late }) => ({ set, period, shop, late })),
    lateness,
    lateness_bound: 0,
    peak_hours: peak,
    peak_bound: ask.hours_per_set,
    proved: lateness === 0 && peak === ask.hours_per_set,
    loads: due.shops.map((shop) => ({ shop: shop.id, hours: hours(shop) })),
    obstacles: stuck.map((set) => ({
      kind: 'slots_short',
      districts: [set.district],
      periods: due.periods.map((_, p) => p).slice(set.earliest, set.latest + 1),
      sets: [set.set],
      needs: 1,
      has: 0,
      words: `${name(set.district)}: 1 sets (${set.name}) must be served in ${week(set.earliest)} to ${week(set.latest)}, where it can spare 0 in all: 1 too few.`,
    })),
    reliefs: stuck.map((set) => ({
      district: set.district,
      period: set.due_period,
      more: 1,
      words: `1 more slot for ${name(set.district)} in ${week(set.due_period)} (by 1 more stand-in)`,
    })),
    words: stuck.length ? 'There is no plan.' : `${visits.length} sets planned.`,
  }
  return { plan, visits: stuck.length ? [] : visits.sort((a, b) => a.period - b.period), ...due }
}
