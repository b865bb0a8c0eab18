// The past, made up: every rig stood at full but for a few stretches that its place in the list gives. Development only.
const DAY = 86_400_000
const HOUR = 3_600_000
const iso = (t) => new Date(t).toISOString()

/** Stretches of each rig from a year ago to now, and the revisions that began them, in order. */
export function makePast(world, now = Date.now()) {
  const start = now - 330 * DAY
  const all = []
  world.all('rig').forEach((rig, n) => {
    const edges = [[start, 'full', false]]
    for (let day = 11 + ((n * 17) % 40); day < 325; day += 37 + ((n * 7) % 20)) {
      const from = start + day * DAY + ((n * 5) % 24) * HOUR
      const level = (day + n) % 3 ? 'limited' : 'none'
      edges.push([from, level, (day + n) % 4 === 0], [from + (8 + ((day * 5) % 90)) * HOUR, 'full', false])
    }
    const level = world.get('capability', rig.id).level
    if (level !== 'full') edges.push([now - (n + 1) * HOUR, level, false])
    edges.forEach(([from, level, planned], i) =>
      all.push({ rig, from, until: edges[i + 1]?.[0] ?? null, level, planned }),
    )
  })
  all.sort((a, b) => a.from - b.from)
  const words = { full: 'Put a piece back in service', limited: 'Report a defect: leaks at handle' }
  all.forEach((s, i) =>
    Object.assign(s, {
      revision: i + 1,
      kind: s.level === 'full' ? 'piece.return' : 'piece.take_out',
      by: world.all('member')[i % 3].name,
      words: words[s.level] ?? 'Take a rig out of service: at the garage',
    }),
  )
  return all
}

const refused = (detail) => ({
  status: 400,
  body: { type: 'urn:fullset:query-invalid', title: detail, status: 400, code: 'query-invalid', detail },
})
const missing = (detail) => ({
  status: 404,
  body: { type: 'urn:fullset:not-found', title: detail, status: 404, code: 'not-found', detail },
})

/** Answers an address of this file, or undefined. */
export function pastDoor(route, url, world, past, now = Date.now()) {
  const query = url.searchParams
  const text = query.get('at')
  const asked = query.get('revision')
  const at = text ? Date.parse(text) : asked ? past.find((s) => s.revision === Number(asked))?.from : now
  const ok = (body) => ({ status: 200, body })
  const [, , noun, id, what] = url.pathname.split('/')
  const station = (rig) => world.get('station', rig.station)
  const level = (rig, t) =>
    past.findLast((s) => s.rig.id === rig.id && s.from <= t && (!s.until || s.until > t))
  const told = (s) => ({ ...s, rig: undefined, from: iso(s.from), until: s.until && iso(s.until) })
  const revisionAt = (t) => past.findLast((s) => s.from <= t)?.revision ?? 0

  if (route === 'GET /v1/board' || what === 'sheet' || route === 'GET /v1/board/changes') {
    if (at === undefined || Number.isNaN(at)) return refused('There is no such revision')
    if (at > now) return refused('This instant has not come yet; leave `at` out for now')
  }
  if (route === 'GET /v1/board') {
    const totals = { full: 0, limited: 0, none: 0 }
    const districts = world.all('district').map((d) => {
      const count = { full: 0, limited: 0, none: 0 }
      const rigs = world
        .all('rig')
        .filter((r) => station(r)?.district === d.id && level(r, at))
        .map((r) => {
          const s = level(r, at)
          count[s.level]++
          totals[s.level]++
          const why = s.level === 'full' ? [] : [s.words]
          return {
            id: r.id,
            name: r.name,
            station: station(r).name,
            level: s.level,
            since: iso(s.from),
            words: why,
            margin: 0,
            holds_until: null,
          }
        })
      return { id: d.id, name: d.name, min_full: d.min_full, ...count, short: count.full < d.min_full, rigs }
    })
    return ok({ revision: revisionAt(at), at: iso(at), districts: revisionAt(at) ? districts : [], totals })
  }
  if (route === 'GET /v1/board/changes') {
    const until = query.get('until') ? Date.parse(query.get('until')) : now
    const district = query.get('district')
    const after = asked ? Number(asked) : revisionAt(at)
    const items = past
      .filter((s) => s.revision > after && s.from <= until)
      .filter((s) => !district || station(s.rig)?.district === district)
      .toReversed()
      .map((s) => ({
        ...told(s),
        rig: s.rig.id,
        rig_name: s.rig.name,
        station_name: station(s.rig)?.name ?? '',
        at: iso(s.from),
        from: past.findLast((b) => b.rig.id === s.rig.id && b.from < s.from)?.level ?? null,
        to: s.level,
      }))
    const page = items.slice(0, 500)
    return ok({
      revision: after,
      at: iso(at),
      until: iso(until),
      items: page,
      more: page.length < items.length,
    })
  }
  if (route === 'GET /v1/availability') return ok(availability(query, world, past, now, station))
  if (noun === 'rigs' && what === 'standing') {
    const [from, until] = [Date.parse(query.get('from')), Date.parse(query.get('until'))]
    const own = past.filter((s) => s.rig.id === id && s.from < until && (!s.until || s.until > from))
    return ok({ items: own.toReversed().map(told) })
  }
  if (noun === 'rigs' && what === 'sheet') {
    const rig = world.get('rig', id)
    const s = rig && level(rig, at)
    if (!s) return missing('There was no such rig in this agency at that time')
    const acts = past
      .filter((a) => a.rig.id === id)
      .map((a) => ({
        revision: a.revision,
        at: iso(a.from),
        received_at: iso(a.from),
        by: { id: null, name: a.by, role: 'officer' },
        kind: a.kind,
        words: a.words,
        body: {},
        record: {},
      }))
    const aboard = world.all('piece').filter((p) => p.place.at === 'rig' && p.place.rig === id)
    return ok({
      at: iso(at),
      revision: revisionAt(at),
      rig,
      station: station(rig)?.name ?? '',
      capability: { ...world.get('capability', id), level: s.level, since: iso(s.from) },
      aboard: aboard.map((piece) => ({
        piece,
        model: world.get('model', piece.model)?.name ?? '',
        defects: world.all('defect').filter((d) => d.piece === piece.id && d.state === 'open'),
      })),
      swaps: world.all('swap').filter((w) => w.rig === id && w.state === 'open'),
      before: acts.filter((a) => a.revision <= revisionAt(at)).reverse(),
      since: acts.filter((a) => a.revision > revisionAt(at)).reverse(),
    })
  }
  if (noun === 'rig-classes' && id && !what) {
    const found = world.get('rig_class', id)
    return found ? ok(found) : missing('No such rig class')
  }
  return undefined
}

function availability(query, world, past, now, station) {
  const by = query.get('by') ?? 'agency'
  const district = query.get('district')
  const last = query.get('until') ?? iso(now).slice(0, 7)
  const months = []
  for (
    let m = query.get('from') ?? last;
    m <= last;
    m = iso(Date.UTC(+m.slice(0, 4), +m.slice(5), 1)).slice(0, 7)
  )
    months.push(m)
  const shares = (rigs, from, until) => {
    const end = Math.min(until, now)
    const sum = { full: 0, limited: 0, none: 0, planned: 0 }
    for (const s of past.filter((s) => rigs.includes(s.rig)))
      sum[s.planned ? 'planned' : s.level] += Math.max(
        0,
        Math.min(s.until ?? now, end) - Math.max(s.from, from),
      )
    const known = sum.full + sum.limited + sum.none + sum.planned
    const of = (n) => (known ? n / known : null)
    return {
      known_seconds: Math.round(known / 1000),
      seconds: Math.round(Math.max(0, end - from) / 1000) * rigs.length,
      full: of(sum.full),
      limited: of(sum.limited),
      none: of(sum.none),
      planned: of(sum.planned),
    }
  }
  const rigs = past.map((s) => s.rig).filter((r, i, all) => all.indexOf(r) === i)
  const inside = (d) => rigs.filter((r) => station(r)?.district === d)
  const groups =
    by === 'agency'
      ? [[world.all('agency')[0], rigs]]
      : by === 'district'
        ? world.all('district').map((d) => [d, inside(d.id)])
        : (district ? inside(district) : rigs).map((r) => [r, [r]])
  const edge = (m) => Date.parse(`${m}-01T00:00:00Z`)
  const next = (m) => Date.UTC(+m.slice(0, 4), +m.slice(5), 1)
  return {
    at: iso(now),
    time_zone: world.all('agency')[0].time_zone,
    by,
    months,
    rows: groups
      .filter(([of]) => !query.get('of') || of.id === query.get('of'))
      .map(([of, own]) => ({
        id: of.id,
        name: of.name,
        months: months.map((m) => shares(own, edge(m), next(m))),
        total: shares(own, edge(months[0]), next(last)),
      })),
    words: 'Made up by the mock.',
  }
}
