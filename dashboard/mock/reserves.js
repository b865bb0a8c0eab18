// Reliability and reserves for developing their screens. The pieces are the invented agency's, the histories are drawn by a fixed
// rule; what follows from them (bounds, Poisson, buying) is worked out, so that sliders behave as they will.
const DAY = 86_400_000
const WORDS = { power_unit: 'Power units', hand_pump: 'Hand pumps', cutter: 'Cutters', spreader: 'Spreaders' }
const MORE = { combination_tool: 'Combination tools', ram: 'Rams', hose: 'Hoses', battery: 'Batteries' }
const kindName = (kind) => ({ ...WORDS, ...MORE })[kind] ?? `${kind[0].toUpperCase()}${kind.slice(1)}s`
const A_YEAR = { hose: 0.35, ram: 0.6, cutter: 0.45, spreader: 0.3, power_unit: 0.8, battery: 0.5 }
const AWAY = { hose: 9, ram: 31, cutter: 22, spreader: 18, power_unit: 26, battery: 12 }
const REASONS = ['Leaks at coupling', 'Does not hold', 'Will not start', 'Blade nicked', 'Case damaged']

function grouped(list, key) {
  const groups = new Map()
  for (const one of list) groups.set(key(one), [...(groups.get(key(one)) ?? []), one])
  return groups
}
// Chi-square by Wilson and Hilferty: close enough for a look.
const NORMAL = { 0.8: 1.2816, 0.9: 1.6449, 0.95: 1.96, 0.99: 2.5758 }
const chi = (z, n) => n * (1 - 2 / (9 * n) + z * Math.sqrt(2 / (9 * n))) ** 3

function stopsOf(piece, at) {
  const rate = A_YEAR[piece.kind] ?? 0.1
  const seed = [...piece.tag].reduce((n, c) => (n * 31 + c.charCodeAt(0)) % 9973, 7)
  const stops = []
  const step = 365 / rate
  for (let day = (seed / 9973) * step * 1.6, n = 0; day < 790; n += 1) {
    const days = 2 + (((seed * (n + 3)) % 97) / 48) * (AWAY[piece.kind] ?? 10)
    const open = day + days >= 790
    stops.push({
      day,
      days: open ? 790 - day : days,
      open,
      planned: (seed + n) % 6 === 0,
      reason: REASONS[(seed + n) % 5],
    })
    day += days + step * (0.35 + ((seed * (n + 1)) % 89) / 70)
  }
  return stops.map((s) => ({ ...s, piece, from: new Date(at - (800 - s.day) * DAY).toISOString() }))
}

function figures(stops, pieces, confidence) {
  const fails = stops.filter((s) => !s.planned)
  const r = fails.length
  const z = NORMAL[confidence] ?? 1.6449
  const years = Math.max(0.01, (pieces * 800 - stops.reduce((n, s) => n + s.days, 0)) / 365)
  const low = r ? Math.max(0, chi(-z, 2 * r)) / 2 / years : 0
  const high = chi(z, 2 * r + 2) / 2 / years
  const ended = fails.filter((s) => !s.open).map((s) => s.days)
  const mean = ended.length ? ended.reduce((a, b) => a + b, 0) / ended.length : null
  const mtbf = r ? (years * 365) / r : null
  const share = mean && mtbf ? (m, f) => mtbf / (mtbf + m * f) : null
  const spread = z / Math.sqrt(Math.max(1, r))
  const beta = r > 4 ? 0.7 + (r % 9) / 10 : null
  const verdict = r < 4 ? 'too_few' : r % 7 === 0 ? 'worsening' : r % 11 === 0 ? 'improving' : 'no_trend'
  return {
    rates: {
      failures: r,
      planned: stops.length - r,
      piece_years: years,
      per_piece_year: r / years,
      per_piece_year_lower: low,
      per_piece_year_upper: high,
      mtbf_days: mtbf,
      mtbf_days_lower: 365 / high,
      mtbf_days_upper: r ? 365 / low : null,
      confidence,
      words: `${r} failures in ${years.toFixed(1)} piece-years.`,
    },
    repairs: {
      ended: ended.length,
      open: r - ended.length,
      mean_days: mean,
      median_days: mean && mean * 0.8,
      lognormal_mean_days: mean && mean * 1.02,
      mean_days_lower: mean && mean * 0.7,
      mean_days_upper: mean && mean * 1.6,
      mtbf_days: mtbf,
      availability: share && share(mean, 1),
      availability_lower: share && share(mean, 1 + spread),
      availability_upper: share && share(mean, Math.max(0.1, 1 - spread)),
      confidence,
      words: `${ended.length} repairs ended.`,
    },
    trend: {
      failures: r,
      laplace: r ? ((r % 5) - 2) / 2 : null,
      laplace_p: r ? 0.4 : null,
      military_handbook: r ? 2.2 * r : null,
      degrees: 2 * r,
      p_improving: r ? 0.4 : null,
      p_worsening: r ? 0.6 : null,
      reversals: null,
      reversals_p: null,
      verdict,
      words:
        verdict === 'too_few'
          ? `${r} failures: too few data for a trend, at least 4 are needed.`
          : `By the handbook test: ${verdict}.`,
    },
    power_law: {
      failures: r,
      beta,
      beta_unbiased: beta && beta * 0.9,
      beta_lower: beta && beta * 0.6,
      beta_upper: beta && beta * 1.5,
      lambda: beta && 0.001,
      lambda_unbiased: beta && 0.001,
      intensity: beta && r / years / 365,
      mtbf_days: beta && mtbf,
      mtbf_days_unbiased: beta && mtbf * 1.1,
      mtbf_days_lower: null,
      mtbf_days_upper: null,
      cramer_von_mises: beta && 0.08,
      confidence,
      words: beta
        ? `Shape ${beta.toFixed(2)}: a constant rate cannot be ruled out by it.`
        : `${r} failures: too few data for a fit.`,
    },
  }
}

function* ladder(mean) {
  let p = Math.exp(-mean)
  let below = 0
  let shortage = mean
  for (let spares = 0; ; spares += 1) {
    const ready = Math.min(1, below + p)
    yield { spares, fill_rate: below, ready_rate: ready, shortage: Math.max(0, shortage) }
    shortage -= 1 - ready
    below = ready
    p *= mean / (spares + 1)
  }
}
const take = (mean, count) => {
  const all = ladder(mean)
  return Array.from({ length: count + 1 }, () => all.next().value)
}
function finite(slots, spares, each) {
  let [share, all, short, shortage, away] = [1, 0, 0, 0, 0]
  for (let d = 0; d <= slots + spares; d += 1) {
    all += share
    away += share * d
    if (d > spares) [short, shortage] = [short + share, shortage + share * (d - spares)]
    share *= (each * Math.min(slots, slots + spares - d)) / (d + 1)
  }
  return { spares, short: short / all, shortage: shortage / all, away: away / all }
}

function size({ budget, target, up_to, families }) {
  const shelves = families.map((f) => {
    const mean_away = (f.fleet * f.per_piece_year * f.days_away) / 365
    const stocks = take(mean_away, Math.max(up_to, 60))
    const needed = (rate) => stocks.find((s) => s[rate] >= target)?.spares ?? null
    return {
      f,
      mean_away,
      stocks,
      has: f.spares,
      needed_fill: needed('fill_rate'),
      needed_ready: needed('ready_rate'),
    }
  })
  const bought = shelves.filter((s) => s.f.price > 0)
  const left = () => bought.reduce((n, s) => n + s.stocks[s.has].shortage * s.f.weight, 0)
  const curve = {
    before: left(),
    buy: [],
    spent: 0,
    shortage: 0,
    shortage_bound: 0,
    proved: true,
    whole: true,
  }
  let best = true
  while (curve.buy.length < 200) {
    const worth = (s) => ((1 - s.stocks[s.has].ready_rate) * s.f.weight) / s.f.price
    const order = bought.filter((s) => s.has < 59 && worth(s) > 1e-12).sort((a, b) => worth(b) - worth(a))
    const next = order.find((s) => s.f.price <= budget - curve.spent)
    if (!next) break
    best &&= next === order[0]
    const before = left()
    next.has += 1
    curve.spent += next.f.price
    const stock = next.stocks[next.has]
    const words = `One more of ${next.f.name}: ${stock.spares} spares, a spare on the shelf for ${(stock.fill_rate * 100).toFixed(1)} % of failures, no slot waiting ${(stock.ready_rate * 100).toFixed(1)} % of the time.`
    curve.buy.push({
      family: next.f.id,
      spent: curve.spent,
      takes_away: before - left(),
      shortage: left(),
      stock,
      is_best: best,
      words,
    })
  }
  curve.shortage = left()
  curve.shortage_bound = left() * (best ? 1 : 0.97)
  curve.proved = best
  const sized = shelves.map(({ f, mean_away, stocks, needed_fill, needed_ready }) => ({
    id: f.id,
    mean_away,
    stocks: stocks.slice(0, up_to + 1),
    finite: Array.from({ length: up_to + 1 }, (_, s) =>
      finite(f.fleet, s, (f.per_piece_year * f.days_away) / 365),
    ),
    needed_fill,
    needed_ready,
    words: `On average ${mean_away.toFixed(2)} away.`,
  }))
  return { families: sized, curve }
}

/** Answers the addresses of this file; undefined when it is another's. */
export async function reservesDoor(route, url, world, read) {
  const at = Date.now()
  const get = (key) => url.searchParams.get(key)
  const [from, until] = [get('from') ?? '2024-09-16', get('until') ?? new Date(at).toISOString().slice(0, 10)]
  const modelOf = (p) => world.get('model', p.model)
  const keyOf = {
    kind: (p) => [p.kind, kindName(p.kind)],
    model: (p) => [p.model, modelOf(p).name],
    part: (p) => [`seal ${p.kind}`, `Seal kit, ${kindName(p.kind).toLowerCase()}`],
    age: (p) => [
      String(Number(p.tag.at(-1)) % 4),
      ['under 2 years', '2 to 5 years', '5 to 10 years', 'over 10 years'][Number(p.tag.at(-1)) % 4],
    ],
  }
  const wanted = world
    .all('piece')
    .filter((p) => (!get('kind') || p.kind === get('kind')) && (!get('model') || p.model === get('model')))
  if (route === 'GET /v1/reliability') {
    const by = get('by') ?? 'kind'
    const confidence = Number(get('confidence') ?? 0.9)
    const groups = grouped(wanted, (p) => keyOf[by](p).join('\n'))
    const rows = [...groups].map(([words, pieces]) => {
      const [key, name] = words.split('\n')
      const stops = pieces.flatMap((p) => stopsOf(p, at))
      const kind = by === 'age' ? null : pieces[0].kind
      return { key, name, kind, pieces: pieces.length, ...figures(stops, pieces.length, confidence) }
    })
    const how = [
      'A failure is a piece that had to be taken out of service and was not out for planned service.',
      'Time counts from the day a piece is first on record; days out of service are taken off.',
    ]
    return {
      at: new Date(at).toISOString(),
      by,
      from,
      until,
      confidence,
      rows,
      words: `${rows.length} rows.`,
      how,
    }
  }
  if (route === 'GET /v1/reliability/stops') {
    const items = wanted
      .filter((p) => keyOf[get('by') ?? 'kind'](p)[0] === get('key'))
      .flatMap((p) => stopsOf(p, at))
      .sort((a, b) => b.from.localeCompare(a.from))
      .map((s) => ({
        piece: s.piece.id,
        tag: s.piece.tag,
        model_name: modelOf(s.piece).name,
        from: s.from,
        days: s.days,
        planned: s.planned,
        until: s.open ? null : new Date(Date.parse(s.from) + s.days * DAY).toISOString(),
        reason: s.planned ? 'Annual service' : s.reason,
        by: 'Tamsin Okvale',
        ticket: null,
      }))
    return { items }
  }
  if (route === 'GET /v1/reserves') {
    const groups = grouped(world.all('piece'), (p) => {
      const { coupling, fluid, battery } = modelOf(p).hookup
      return [p.kind.replaceAll('_', ' '), ...(battery ? [battery] : [coupling, fluid].filter(Boolean))]
        .join(', ')
        .toLowerCase()
    })
    const families = [...groups].map(([key, pieces], i) => {
      const { kind } = pieces[0]
      const spare = pieces.filter((p) => p.home?.at !== 'rig')
      const { rates, repairs } = figures(
        pieces.flatMap((p) => stopsOf(p, at)),
        pieces.length,
        0.9,
      )
      const fleet = pieces.length - spare.length
      const mean_away =
        repairs.mean_days === null ? null : (fleet * rates.per_piece_year * repairs.mean_days) / 365
      return {
        id: `01940000-0000-7000-8000-${String(i).padStart(12, '0')}`,
        key,
        kind,
        fleet,
        spares: spare.length,
        name: key,
        spare_pieces: spare.map((p) => ({ piece: p.id, tag: p.tag, place: p.place })),
        failures: rates.failures,
        piece_years: rates.piece_years,
        per_piece_year: rates.per_piece_year,
        per_piece_year_lower: rates.per_piece_year_lower,
        per_piece_year_upper: rates.per_piece_year_upper,
        repairs: repairs.ended,
        days_away: repairs.mean_days,
        mean_away,
        now: mean_away === null ? null : take(mean_away, spare.length)[spare.length],
        words:
          mean_away === null
            ? 'No repair has ended yet: nobody knows how long one takes.'
            : `On average ${mean_away.toFixed(2)} are away.`,
      }
    })
    const how = [
      'The fleet is the pieces with their home on a rig; spares are the others in service.',
      'Families are never pooled: a spare of one hook-up cannot stand in for another.',
    ]
    return { at: new Date(at).toISOString(), from, until, families, how }
  }
  if (route === 'POST /v1/reserves/sizing') return size(JSON.parse(await read()))
  return undefined
}
