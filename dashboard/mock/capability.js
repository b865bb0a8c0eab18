// A rough stand-in for what the server computes, good enough to show every state of the screens.
const TOOLS = ['cutter', 'spreader', 'combination_tool', 'ram']

export function compute(db, rig, without = null) {
  const cls = db.get('rig_class').get(rig.rig_class)
  if (!cls) return null
  const models = db.get('model')
  const aboard = [...db.get('piece').values()].filter(
    (p) => p.place.at === 'rig' && p.place.rig === rig.id && p.id !== without,
  )
  const usable = aboard.filter((p) => p.state === 'in_service')
  const slots = cls.complement.slots
  const used = new Set()
  const fillings = []
  const gaps = []
  const hookup = (p) => models.get(p.model).hookup
  const sources = usable.filter((p) => p.kind === 'power_unit' || p.kind === 'hand_pump')
  const hoses = usable.filter((p) => p.kind === 'hose')
  const packs = usable.filter((p) => p.kind === 'battery')
  let turn = 0
  let packTurn = 0

  for (const slot of slots) {
    const fits = usable.filter((p) => slot.kinds.includes(p.kind) && !used.has(p.id))
    let found = null
    let via = null
    for (const p of fits) {
      if (!TOOLS.includes(p.kind)) {
        found = p
        break
      }
      if (hookup(p).battery) {
        const pack = packs[packTurn++ % Math.max(1, packs.length)]
        if (!pack) continue
        found = p
        via = { battery: pack.id }
        break
      }
      const source = sources.find((s) => hookup(s).coupling === hookup(p).coupling)
      const line = hoses.filter((h) => source && hookup(h).coupling === hookup(source).coupling)
      if (!source || !line.length) continue
      found = p
      via = { source: source.id, hose: line[turn++ % line.length].id }
      break
    }
    fillings.push({ slot: slot.id, piece: found?.id ?? null, via })
    if (found) used.add(found.id)
    else gaps.push(gapOf(slot, aboard, sources, hoses))
  }
  const filled = (need) =>
    slots.every((s) => !need.includes(s.need) || fillings.find((f) => f.slot === s.id).piece)
  const toolsFilled = fillings.filter((f) => f.via).length
  const circuits = sources.reduce((n, s) => n + (hookup(s).circuits ?? 1), 0)
  const fed = fillings.filter((f) => f.via?.hose).length
  const simultaneous =
    Math.min(fed, circuits, hoses.length) +
    Math.min(fillings.filter((f) => f.via?.battery).length, packs.length)
  const also = []
  if (simultaneous < cls.complement.simultaneous_min && toolsFilled) {
    also.push(`${simultaneous} of ${cls.complement.simultaneous_min} tools can run at once`)
  }
  let level = 'none'
  if (filled(['core']) && toolsFilled) level = 'limited'
  if (level === 'limited' && filled(['required']) && simultaneous >= cls.complement.simultaneous_min)
    level = 'full'
  if (!rig.in_service) {
    level = 'none'
    also.unshift(`The rig is out of service: ${rig.out_reason}`)
  }
  const answer = {
    id: rig.id,
    rig_name: rig.name,
    level,
    fillings,
    gaps,
    also,
    simultaneous,
    simultaneous_min: cls.complement.simultaneous_min,
  }
  if (without !== null) return answer
  const critical = level === 'none' ? [] : [...used].filter((id) => compute(db, rig, id).level !== level)
  const restore = gaps
    .filter((g) => g.need !== 'optional')
    .map((g) => ({
      act: 'put_aboard',
      slot: g.slot,
      words: `Put a fitting ${slots.find((s) => s.id === g.slot).name.toLowerCase()} aboard`,
    }))
  if (!rig.in_service) restore.unshift({ act: 'put_rig_back', words: 'Put the rig back in service' })
  return {
    ...answer,
    margin: level === 'none' ? null : critical.length ? 0 : 1,
    critical,
    restore,
    holds_until: level === 'full' ? new Date(Date.now() + 19 * 86_400_000).toISOString() : null,
  }
}

function gapOf(slot, aboard, sources, hoses) {
  const near = []
  for (const p of aboard.filter((x) => slot.kinds.includes(x.kind))) {
    if (p.state !== 'in_service') {
      near.push({
        piece: p.id,
        code: 'out-of-service',
        words: `${p.tag} out of service: ${p.state_reason}`,
        since: p.state_since,
      })
    } else if (TOOLS.includes(p.kind)) {
      const words = !sources.length
        ? `no power source to feed ${p.tag}`
        : !hoses.length
          ? `no hose to feed ${p.tag}`
          : `${p.tag} is fed by no fitting hose`
      near.push({ piece: p.id, code: 'no-hose', words })
    }
  }
  const words = near.length ? [near[0].words] : [`no ${slot.name.toLowerCase()} aboard`]
  return {
    slot: slot.id,
    need: slot.need,
    words,
    near: near.length ? near : [{ piece: null, code: 'none-aboard', words: words[0] }],
    compete: null,
  }
}
