// Turns a rig's computed capability into a join picture and into sentences. It computes nothing itself:
// which hose feeds which tool is the server's answer, and only that is drawn.
import type { Capability, Id, Kind, Model, Piece, Slot } from '@/api/types'
import type { Group, Lead, Part, PictureModel } from '@/ui/picture/parts'
import { bestNear, gapWords, nearWords } from '@/words/gap'
import { kindWord } from '@/words/piece'

export interface Known {
  piece(id: Id): Piece | undefined
  model(id: Id): Model | undefined
  fresh?(id: Id): string | undefined
}

const SOURCES: Kind[] = ['power_unit', 'hand_pump']
/** Reasons that lie in the piece or in another slot, not in how it joins. */
const ELSEWHERE = new Set(['fills-another-slot', 'out-of-service', 'none-aboard'])
const LOOSE: Kind[] = ['charger', 'accessory']

export function hookupOf(slots: Slot[], capability: Capability | undefined, known: Known): PictureModel {
  const model: PictureModel = { groups: [], tray: [] }
  if (!capability) return model
  const slotById = new Map(slots.map((s) => [s.id, s]))
  const gapBySlot = new Map(capability.gaps.map((g) => [g.slot, g]))
  const critical = new Set(capability.critical)
  const slotOfPiece = new Map(capability.fillings.filter((f) => f.piece).map((f) => [f.piece as Id, f.slot]))
  const groups = new Map<Id, Group>()
  const hoses = new Map<Id, Lead>()
  const loose: Group[] = []
  const spareHoses: Id[] = []
  const packs: Id[] = []

  const partOf = (id: Id, fallback?: string): Part => {
    const piece = known.piece(id)
    const slot = slotById.get(slotOfPiece.get(id) ?? '')
    return {
      key: id,
      title: slot?.name ?? fallback ?? kindWord(piece?.kind),
      sub: piece?.tag,
      href: `/pieces/${id}`,
      glyph: piece?.kind ?? slot?.kinds[0] ?? 'accessory',
      critical: critical.has(id),
      fresh: known.fresh?.(id),
    }
  }
  const sourceGroup = (id: Id): Group => {
    let group = groups.get(id)
    if (!group) groups.set(id, (group = { source: partOf(id), leads: [] }))
    return group
  }
  const hoseLead = (source: Id, hose: Id): Lead => {
    let lead = hoses.get(hose)
    if (!lead) {
      hoses.set(hose, (lead = { line: partOf(hose), ends: [] }))
      sourceGroup(source).leads.push(lead)
    }
    return lead
  }
  const gapPart = (slot: Slot): Part => {
    const gap = gapBySlot.get(slot.id)
    const near = bestNear(gap)
    const aboard = near?.piece ? known.piece(near.piece) : undefined
    const sound = near && aboard?.state === 'in_service' && !ELSEWHERE.has(near.code)
    const title = slot.need === 'optional' ? `${slot.name} (optional)` : slot.name
    const part: Part = { key: `gap-${slot.id}`, title, glyph: slot.kinds[0] ?? 'accessory', open: true }
    if (!sound || !aboard) return { ...part, why: gapWords(gap, known.piece) }
    // The piece is there and sound, it only joins to nothing: its tag is shown, and what it lacks.
    const why = nearWords(near, aboard).replace(`${aboard.tag}: `, '')
    return { ...part, sub: aboard.tag, href: `/pieces/${aboard.id}`, why }
  }
  /** A sound hose that no slot may count because nothing feeds it. */
  const idleHose = (slot: Slot): Id | undefined =>
    gapBySlot
      .get(slot.id)
      ?.near.find((n) => n.code === 'no-source' && n.piece && !spareHoses.includes(n.piece))?.piece ??
    undefined

  // Sources first, so that they keep the order of the complement whatever hangs on them.
  for (const filling of capability.fillings) {
    const kind = filling.piece ? known.piece(filling.piece)?.kind : undefined
    if (filling.piece && kind && SOURCES.includes(kind)) sourceGroup(filling.piece)
  }
  for (const filling of capability.fillings) {
    const slot = slotById.get(filling.slot)
    if (!filling.piece) {
      if (slot) placeGap(slot)
      continue
    }
    const piece = known.piece(filling.piece)
    const kind = piece?.kind ?? slot?.kinds[0] ?? 'accessory'
    if (SOURCES.includes(kind)) continue
    if (kind === 'battery') packs.push(filling.piece)
    else if (kind === 'hose') spareHoses.push(filling.piece)
    else if (LOOSE.includes(kind)) model.tray.push(partOf(filling.piece))
    else if (filling.via && 'hose' in filling.via) {
      hoseLead(filling.via.source, filling.via.hose).ends.push(partOf(filling.piece))
    } else if (filling.via || (piece && known.model(piece.model)?.hookup.battery)) {
      const pack = filling.via?.battery
      const source: Part = pack
        ? { ...partOf(pack), glyph: 'battery' }
        : { key: `pack-${filling.piece}`, title: 'Pack with tool', glyph: 'battery' }
      loose.push({ source, leads: [{ line: null, ends: [partOf(filling.piece)] }] })
    } else model.tray.push(partOf(filling.piece))
  }
  for (const hose of spareHoses) {
    if (hoses.has(hose)) continue
    const host = hostOf(hose)
    if (host?.source?.open) host.leads = host.leads.filter((l) => l.line)
    if (host) host.leads.push({ line: partOf(hose), ends: [] })
    else model.tray.push(partOf(hose))
  }
  const drawn = new Set(loose.map((g) => g.source?.key))
  for (const pack of packs) if (!drawn.has(pack)) model.tray.push(partOf(pack))
  model.groups.push(...[...groups.values()], ...loose)
  return model

  function hostOf(hose: Id): Group | undefined {
    const coupling = known.model(known.piece(hose)?.model ?? '')?.hookup.coupling
    const all = [...groups.entries()]
    const mate = all.find(([id]) => known.model(known.piece(id)?.model ?? '')?.hookup.coupling === coupling)
    return (
      (mate ?? all[0])?.[1] ?? loose.find((g) => g.source?.open && SOURCES.includes(g.source.glyph as Kind))
    )
  }
  function placeGap(slot: Slot) {
    const part = gapPart(slot)
    const kind = slot.kinds[0] ?? 'accessory'
    if (LOOSE.includes(kind)) model.tray.push(part)
    else if (SOURCES.includes(kind) || kind === 'battery')
      loose.unshift({ source: part, leads: [{ line: null, ends: [] }] })
    else if (kind === 'hose') {
      const idle = idleHose(slot)
      if (idle) {
        slotOfPiece.set(idle, slot.id)
        spareHoses.push(idle)
        return
      }
      const host = [...groups.values()][0]
      if (host) host.leads.push({ line: part, ends: [] })
      else loose.push({ source: null, leads: [{ line: part, ends: [] }] })
    } else loose.push({ source: null, leads: [{ line: null, ends: [part] }] })
  }
}

/** The picture as sentences: what a screen reader reads, and what the printed sheet says. */
export function hookupSentences(model: PictureModel): string[] {
  const named = (part: Part) => (part.sub ? `${part.title} ${part.sub}` : part.title)
  const list: string[] = []
  for (const { source, leads } of model.groups) {
    if (source?.open) list.push(`${source.title} is missing: ${source.why}.`)
    for (const lead of leads) {
      if (lead.line?.open) list.push(`${lead.line.title} is missing: ${lead.line.why}.`)
      else if (lead.line && source && !lead.ends.length && !source.open)
        list.push(`${named(source)} has ${named(lead.line)}, capped, with no tool on it.`)
      if (lead.line && source?.open) list.push(`${named(lead.line)} is aboard, but nothing feeds it.`)
      for (const end of lead.ends) {
        if (end.open) list.push(`${end.title} is an open end: ${end.why}.`)
        else if (source && lead.line)
          list.push(`${named(source)} feeds ${named(end)} through ${named(lead.line)}.`)
        else if (source)
          list.push(
            `${named(end)} runs on ${named(source).toLowerCase() === 'pack with tool' ? 'its own pack' : named(source)}.`,
          )
      }
    }
    if (source && !source.open && !leads.length) list.push(`${named(source)} has nothing joined to it.`)
  }
  for (const part of model.tray)
    list.push(part.open ? `${part.title} is missing: ${part.why}.` : `Also aboard: ${named(part)}.`)
  return list
}
