// An invented agency for developing the screens without a server. Every name is made up.
let counter = 0
export const nextId = () => `01930000-0000-7000-8000-${(++counter).toString(16).padStart(12, '0')}`
const day = (offset) => new Date(Date.now() - offset * 86_400_000).toISOString().slice(0, 10)
const hours = (offset) => new Date(Date.now() - offset * 3_600_000).toISOString()

const COUPLING = 'flat-face single'
const OLD = 'twin quick'
const FLUID = 'mineral oil'
const std = { standard: 'NFPA 1936', edition: '2015' }
const psi = (value) => ({ value, unit: 'psi' })

export function makeAgency() {
  const db = new Map()
  const put = (kind, record) => {
    if (!db.has(kind)) db.set(kind, new Map())
    const full = { id: nextId(), rev: 1, ...record }
    db.get(kind).set(full.id, full)
    return full
  }
  put('agency', {
    name: 'Vellmere County Fire',
    time_zone: 'America/Chicago',
    units: 'us',
    policy: { overdue_grace_days: 7, hose_life_years: 10, annual_check_days: 365, batteries: 'as_pieces' },
  })
  const members = {}
  for (const [role, name] of [
    ['admin', 'Orla Fenwright'],
    ['coordinator', 'Ines Talbrook'],
    ['chief', 'Dace Morrowin'],
    ['shop', 'Rufe Anderley'],
    ['officer', 'Tamsin Okvale'],
    ['crew', 'Perrin Hallowby'],
  ]) {
    members[role] = put('member', {
      name,
      role,
      email: `${role}@vellmere.example`,
      active: true,
      district: null,
      station: null,
    })
  }
  const shop = put('shop', { name: 'Central shop' })
  const districts = [
    ['North Vell', 2],
    ['Quarry', 2],
    ['Lowmarsh', 1],
  ].map(([name, min_full]) => put('district', { name, min_full }))
  const stations = [
    ['1', 'Millgate', 0],
    ['2', 'Orchard Rise', 0],
    ['3', 'Ferry Lane', 0],
    ['5', 'Stonecut', 1],
    ['6', 'Hollow Road', 1],
    ['8', 'Saltpan', 2],
    ['9', 'Long Bridge', 2],
  ].map(([number, name, d]) =>
    put('station', {
      number,
      name: `Station ${number} ${name}`,
      district: districts[d].id,
      lat: 41.1,
      lon: -90.2,
    }),
  )

  const model = (name, kind, hookup, ratings = {}) => put('model', { name, kind, hookup, ratings })
  const fed = { coupling: COUPLING, fluid: FLUID, pressure: psi(10500) }
  const M = {
    pump: model(
      'Dorvane P2 twin',
      'power_unit',
      { ...fed, circuits: 2 },
      { mass: { value: 71, unit: 'lb' } },
    ),
    oldPump: model('Dorvane P1', 'power_unit', {
      coupling: OLD,
      fluid: FLUID,
      pressure: psi(9100),
      circuits: 1,
    }),
    hand: model('Dorvane H', 'hand_pump', { ...fed, circuits: 1 }),
    cutter: model('Ostrel C70', 'cutter', fed, {
      cutter_opening: { value: 8.1, unit: 'in', ...std },
      cutting_levels: { levels: 'A8/B9/C8/D9/E9', ...std },
      mass: { value: 19.2, unit: 'kg' },
    }),
    oldCutter: model(
      'Ostrel C40',
      'cutter',
      { coupling: OLD, fluid: FLUID, pressure: psi(9100) },
      { cutter_opening: { value: 150, unit: 'mm' } },
    ),
    spreader: model('Ostrel S52', 'spreader', fed, {
      lowest_spreading_force: { value: 46, unit: 'kN', standard: 'EN 13204', edition: '2016' },
      spreading_distance: { value: 28.5, unit: 'in', ...std },
    }),
    ram: model('Ostrel R3 ram', 'ram', fed, {
      push_force: { value: 30000, unit: 'lbf', ...std },
      retracted_length: { value: 21.5, unit: 'in' },
      extended_length: { value: 50.8, unit: 'in' },
    }),
    hose: model('Ostrel 32 ft single', 'hose', fed, { hose_length: { value: 32, unit: 'ft' } }),
    combi: model(
      'Kestane eCombi',
      'combination_tool',
      { battery: '28V family' },
      { lowest_spreading_force: { value: 8100, unit: 'lbf', ...std } },
    ),
    pack: model('Kestane 28V pack', 'battery', { battery: '28V family' }),
    charger: model('Kestane dual charger', 'charger', { battery: '28V family' }),
    support: model('Ram support plate', 'accessory', {}),
  }
  const slot = (id, name, kinds, need, minimums = {}) => ({ id, name, kinds, need, minimums })
  const rescue = put('rig_class', {
    name: 'Rescue engine',
    complement: {
      simultaneous_min: 2,
      slots: [
        slot('power-unit', 'Power unit', ['power_unit'], 'core'),
        slot('hose-1', 'Hose 1', ['hose'], 'core'),
        slot('hose-2', 'Hose 2', ['hose'], 'required'),
        slot('cutter', 'Cutter', ['cutter'], 'core', { cutter_opening: { value: 7, unit: 'in' } }),
        slot('spreader', 'Spreader', ['spreader'], 'core'),
        slot('ram', 'Ram', ['ram'], 'required'),
        slot('support', 'Ram support', ['accessory'], 'optional'),
      ],
    },
  })
  const battery = put('rig_class', {
    name: 'Battery engine',
    complement: {
      simultaneous_min: 1,
      slots: [
        slot('combi', 'Combination tool', ['combination_tool'], 'core'),
        slot('pack-1', 'Pack 1', ['battery'], 'core'),
        slot('pack-2', 'Pack 2', ['battery'], 'required'),
        slot('charger', 'Charger', ['charger'], 'optional'),
      ],
    },
  })
  const rigs = [
    ['Engine 1', 0, rescue],
    ['Ladder 1', 0, battery],
    ['Engine 2', 1, rescue],
    ['Rescue 3', 2, rescue],
    ['Engine 5', 3, rescue],
    ['Engine 6', 4, rescue],
    ['Ladder 6', 4, battery],
    ['Engine 8', 5, rescue],
    ['Rescue 9', 6, rescue],
    ['Engine 9', 6, battery],
  ].map(([name, s, c]) =>
    put('rig', {
      name,
      station: stations[s].id,
      rig_class: c.id,
      in_service: true,
      out_reason: null,
      out_since: null,
    }),
  )
  const numbers = {}
  const LETTER = {
    power_unit: 'P',
    hand_pump: 'HP',
    cutter: 'C',
    spreader: 'S',
    combination_tool: 'X',
    ram: 'R',
    hose: 'H',
    battery: 'B',
    charger: 'CH',
    accessory: 'A',
  }
  const piece = (m, place, more = {}) => {
    const n = (numbers[m.kind] = (numbers[m.kind] ?? 100) + 1)
    return put('piece', {
      tag: `${LETTER[m.kind]}-${n}`,
      model: m.id,
      kind: m.kind,
      serial: `VM${(n * 7919) % 100000}`,
      made_on: day(900 + n * 11),
      in_service_since: day(800),
      last_service_on: day(120 + (n % 9) * 25),
      state: 'in_service',
      state_since: hours(2000),
      state_reason: null,
      state_by: members.coordinator.name,
      holds: [],
      place,
      home: place.at === 'rig' || place.at === 'shelf' ? place : null,
      tool_set: null,
      note: null,
      ...more,
    })
  }
  const on = (rig) => ({ at: 'rig', rig: rig.id })
  const out = (reason, h) => ({
    state: 'out_of_service',
    state_since: hours(h),
    state_reason: reason,
    state_by: members.officer.name,
  })
  const aboard = {}
  for (const rig of rigs) {
    const list = (aboard[rig.name] = {})
    if (rig.rig_class === rescue.id) {
      list.pump = piece(M.pump, on(rig))
      list.h1 = piece(M.hose, on(rig))
      list.h2 = piece(M.hose, on(rig))
      list.cutter = piece(M.cutter, on(rig))
      list.spreader = piece(M.spreader, on(rig))
      list.ram = piece(M.ram, on(rig))
      list.support = piece(M.support, on(rig))
    } else {
      list.combi = piece(M.combi, on(rig))
      list.p1 = piece(M.pack, on(rig))
      list.p2 = piece(M.pack, on(rig))
      list.charger = piece(M.charger, on(rig))
    }
  }
  const defect = (p, what, severity, h, repeats = []) =>
    put('defect', {
      piece: p.id,
      what,
      severity,
      state: 'open',
      seen_at: hours(h),
      reported_by: members.crew.name,
      place: p.place,
      ticket: null,
      photos: [],
      repeats,
      closed_at: null,
      closed_by: null,
      resolution: null,
    })
  const set = (p, more) => Object.assign(p, more)
  const e2 = aboard['Engine 2']
  set(e2.ram, out('Does not hold', 29))
  defect(e2.ram, 'Does not hold at full stroke', 'out_of_service', 29)
  const e5 = aboard['Engine 5']
  set(e5.h2, { ...out('Cover cut to the braid', 5) })
  defect(e5.h2, 'Cover cut to the braid near the tool end', 'out_of_service', 5)
  const e6 = aboard['Engine 6']
  set(e6.pump, { ...out('Will not start', 74), place: { at: 'shop', shop: shop.id } })
  const d6 = defect(e6.pump, 'Will not start, pull cord free', 'out_of_service', 74)
  const seep = aboard['Engine 1'].spreader
  defect(seep, 'Small seep at the handle', 'usable', 200, [
    { at: hours(40), by: members.officer.name, text: 'Seen again at the weekly check', photos: [] },
  ])
  const l6 = aboard['Ladder 6']
  set(l6.p2, { ...out('Case damaged', 12) })
  const stray = aboard['Engine 8'].cutter
  set(stray, { place: { at: 'shop', shop: shop.id }, ...out('Blade nicked', 300) })
  const loaner = piece(M.cutter, on(rigs[7]), { home: { at: 'shelf', station: stations[5].id } })
  put('swap', {
    rig: rigs[7].id,
    piece: loaner.id,
    stands_in_for: stray.id,
    slot: 'cutter',
    from: { at: 'shelf', station: stations[5].id },
    state: 'open',
    started_at: hours(280),
    started_by: members.officer.name,
    ended_at: null,
    ended_by: null,
  })
  piece(M.ram, { at: 'shelf', station: stations[0].id })
  piece(M.ram, { at: 'shelf', station: stations[6].id })
  piece(M.hose, { at: 'shelf', station: stations[2].id })
  piece(M.oldCutter, { at: 'shelf', station: stations[4].id })
  piece(M.oldPump, { at: 'shelf', station: stations[4].id })
  piece(M.pump, { at: 'shelf', station: stations[6].id })
  piece(M.pack, { at: 'shelf', station: stations[0].id })
  piece(M.spreader, { at: 'loan', name: 'Training ground', due_on: day(-6) })
  const ticket = (p, what, state, h, more = {}) =>
    put('ticket', {
      piece: p.id,
      shop: shop.id,
      what,
      defects: [],
      state,
      opened_at: hours(h),
      opened_by: members.officer.name,
      hold_for: null,
      expected_on: null,
      lines: [],
      tests: [],
      closed_at: null,
      closed_by: null,
      ...more,
    })
  const t6 = ticket(e6.pump, 'Will not start, pull cord free', 'on_hold', 70, {
    hold_for: 'parts',
    expected_on: day(-4),
    defects: [d6.id],
  })
  d6.ticket = t6.id
  t6.lines.push({ kind: 'part', what: 'Starter spring', quantity: 1, unit_cost: 38.5 })
  ticket(stray, 'Blade nicked', 'working', 290, {
    lines: [{ kind: 'labour', what: 'Blades off, edge dressed', minutes: 75 }],
  })
  const broken = piece(M.ram, { at: 'shop', shop: shop.id }, out('Seal leaks', 500))
  ticket(broken, 'Seal leaks at the rod', 'tested', 480, {
    tests: [
      {
        at: hours(3),
        by: members.shop.name,
        passed: true,
        readings: [{ what: 'Hold at end stop', value: psi(10400) }],
        note: null,
      },
    ],
  })
  const late = piece(M.hose, { at: 'shop', shop: shop.id }, out('Leaks at coupling', 20))
  ticket(late, 'Leaks at coupling', 'waiting', 19)
  for (const d of db.get('defect').values()) {
    if (d.severity === 'out_of_service') db.get('piece').get(d.piece).holds.push({ by: 'defect', id: d.id })
  }
  for (const t of db.get('ticket').values())
    db.get('piece').get(t.piece).holds.push({ by: 'ticket', id: t.id })
  return { db, members, shop }
}
