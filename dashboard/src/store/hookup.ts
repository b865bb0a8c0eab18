// Turns a rig's answer into a join picture and into sentences. It computes nothing itself: what drives which tool, and through
// which hoses and adapters, is the server's answer, and only that is drawn.
import type { Gap, Id, Kind, Model, Piece, RigStanding, Slot, Via } from '@/api/types'
import type { Group, Lead, Part, PictureModel } from '@/ui/picture/parts'
import { aboutIt, bestNear, gapWords, nearWords } from '@/words/gap'
import { kindWord } from '@/words/piece'

export interface Known {
  piece(id: Id): Piece | undefined
  model(id: Id): Model | undefined
  fresh?(id: Id): string | undefined
}
type Answer = Pick<RigStanding, 'needs' | 'fillings' | 'gaps' | 'critical' | 'margin'>

const SOURCES: Kind[] = ['power_unit', 'hand_pump']
const TOOLS: Kind[] = ['cutter', 'spreader', 'combination_tool', 'ram']
/** Reasons that lie in the piece or in another need, not in how it joins. */
const ELSEWHERE = new Set(['needed-elsewhere', 'out-of-service', 'missing', 'none-aboard'])

export function hookupOf(slots: Slot[], answer: Answer | undefined, known: Known): PictureModel {
  const model: PictureModel = { groups: [], tray: [] }
  if (!answer) return model
  const slotNames = new Map(
    answer.fillings.flatMap(({ piece, slot }) =>
      piece ? [[piece, slots.find((s) => s.id === slot)?.name]] : [],
    ) as [Id, string | undefined][],
  )
  const critical = new Set(telling(answer))
  const groups = new Map<Id, Group>()
  const leads = new Map<string, Lead>()
  const loose: Group[] = []
  const placed = new Set<Id>()

  const partOf = (id: Id): Part => {
    const piece = known.piece(id)
    placed.add(id)
    return {
      key: id,
      title: slotNames.get(id) ?? kindWord(piece?.kind),
      sub: piece?.tag,
      href: `/pieces/${id}`,
      glyph: piece?.kind ?? 'accessory',
      critical: critical.has(id),
      fresh: known.fresh?.(id),
    }
  }
  const source = (id: Id): Group => {
    let group = groups.get(id)
    if (!group) groups.set(id, (group = { source: partOf(id), leads: [] }))
    return group
  }
  const lead = (from: Id, parts: Id[]): Lead => {
    const key = [from, ...parts].join('>')
    let known = leads.get(key)
    if (!known) {
      leads.set(key, (known = { line: parts.map(partOf), ends: [] }))
      source(from).leads.push(known)
    }
    return known
  }

  const driven = new Map<Id, Via | null>()
  for (const need of answer.needs)
    for (const { piece, via } of need.pieces) if (!driven.get(piece)) driven.set(piece, via)
  for (const { piece, via } of answer.fillings) if (piece && !driven.get(piece)) driven.set(piece, via)
  const kindOf = (id: Id) => known.piece(id)?.kind

  // Sources first, so that they keep the order of the list whatever hangs on them.
  for (const id of driven.keys()) if (SOURCES.includes(kindOf(id) ?? 'accessory')) source(id)
  for (const [id, via] of driven) {
    if (via?.by === 'line') lead(via.source, via.parts).ends.push(partOf(id))
    else if (via) {
      const pack: Part =
        via.by === 'pack'
          ? { ...partOf(via.pack), glyph: 'battery' }
          : { key: `pack-${id}`, title: 'Pack with tool', glyph: 'battery' }
      loose.push({ source: pack, leads: [{ line: [], ends: [partOf(id)] }] })
    }
  }
  const spare: Id[] = []
  for (const id of driven.keys()) {
    const kind = kindOf(id) ?? 'accessory'
    if (placed.has(id)) continue
    if (kind === 'hose') spare.push(id)
    else if (TOOLS.includes(kind)) {
      const why = 'nothing aboard drives it'
      loose.push({ source: null, leads: [{ line: [], ends: [{ ...partOf(id), open: true, why }] }] })
    } else model.tray.push(partOf(id))
  }
  for (const gap of drawn(answer.gaps)) open(gap)
  for (const id of spare) {
    const host = hostOf(id)
    if (host?.source?.open) host.leads = host.leads.filter((one) => one.line.length)
    if (host) host.leads.push({ line: [partOf(id)], ends: [] })
    else model.tray.push(partOf(id))
  }
  model.groups.push(...groups.values(), ...loose)
  return model

  function hostOf(hose: Id): Group | undefined {
    const coupling = known.model(known.piece(hose)?.model ?? '')?.hookup.coupling
    const all = [...groups.entries()]
    const mate = all.find(([id]) => known.model(known.piece(id)?.model ?? '')?.hookup.coupling === coupling)
    const gap = loose.find((group) => group.source?.open && SOURCES.includes(group.source.glyph as Kind))
    return (mate ?? all[0])?.[1] ?? gap
  }
  function open(gap: Gap) {
    const kind = gap.kinds[0] ?? 'accessory'
    const near = bestNear(gap)
    const aboard = near?.piece ? known.piece(near.piece) : undefined
    const sound = near && aboard && !ELSEWHERE.has(near.code)
    const part: Part = { key: `${gap.in}-${gap.id}`, title: gap.name, glyph: kind, open: true }
    // A piece that is there and only joins to nothing: its tag is shown, and what it lacks.
    const shown = sound
      ? {
          ...part,
          sub: aboard.tag,
          href: `/pieces/${aboard.id}`,
          why: aboutIt(nearWords(near, aboard), aboard).replace(`${aboard.tag}: `, ''),
        }
      : { ...part, why: gapWords(gap, known.piece) }
    if (SOURCES.includes(kind) || kind === 'battery')
      loose.unshift({ source: shown, leads: [{ line: [], ends: [] }] })
    else if (kind === 'hose' || kind === 'adapter') {
      const host = [...groups.values()][0]
      if (host) host.leads.push({ line: [shown], ends: [] })
      else loose.push({ source: null, leads: [{ line: [shown], ends: [] }] })
    } else if (TOOLS.includes(kind)) loose.push({ source: null, leads: [{ line: [], ends: [shown] }] })
    else model.tray.push(shown)
  }
}

/** Needs that are not met, and what the list lacks besides. The same kind is drawn open once; what is optional is no gap. */
function drawn(gaps: Gap[]): Gap[] {
  const needs = gaps.filter((gap) => gap.in === 'need')
  const said = new Set(needs.flatMap((gap) => gap.kinds))
  return [
    ...needs,
    ...gaps.filter((gap) => gap.in === 'slot' && gap.required && !gap.kinds.some((kind) => said.has(kind))),
  ]
}

/** Critical pieces where they tell rigs apart: on a rig that can lose nothing at all the mark would stand everywhere. */
export function telling(answer: Pick<RigStanding, 'critical' | 'needs' | 'fillings'>): Id[] {
  const counted = new Set<Id>()
  for (const need of answer.needs)
    for (const { piece, via } of need.pieces) {
      counted.add(piece)
      if (via?.by === 'line') for (const id of [via.source, ...via.parts]) counted.add(id)
      if (via?.by === 'pack') counted.add(via.pack)
    }
  const all = [...counted]
  return all.length && all.every((id) => answer.critical.includes(id)) ? [] : answer.critical
}

const named = (part: Part) => (part.sub ? `${part.title} ${part.sub}` : part.title)
const listed = (parts: Part[]) => parts.map(named).join(', then ')

/** The picture as sentences: what a screen reader reads, and what the printed sheet says. */
export function hookupSentences(model: PictureModel): string[] {
  const list: string[] = []
  for (const { source, leads } of model.groups) {
    if (source?.open) list.push(`${source.title} is missing: ${source.why}.`)
    for (const { line, ends } of leads) {
      const gap = line.find((part) => part.open)
      if (gap) list.push(`${gap.title} is missing: ${gap.why}.`)
      else if (line.length && source && !ends.length && !source.open)
        list.push(`${named(source)} has ${listed(line)}, capped, with no tool on it.`)
      if (line.length && source?.open) list.push(`${listed(line)} is aboard, but nothing feeds it.`)
      for (const end of ends) {
        if (end.open) list.push(`${named(end)} is an open end: ${end.why}.`)
        else if (source && line.length)
          list.push(`${named(source)} feeds ${named(end)} through ${listed(line)}.`)
        else if (source)
          list.push(
            `${named(end)} runs on ${source.title === 'Pack with tool' ? 'its own pack' : named(source)}.`,
          )
      }
    }
    if (source && !source.open && !leads.length) list.push(`${named(source)} has nothing joined to it.`)
  }
  for (const part of model.tray)
    list.push(part.open ? `${part.title} is missing: ${part.why}.` : `Also aboard: ${named(part)}.`)
  return list
}
