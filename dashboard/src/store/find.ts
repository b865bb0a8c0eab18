// What is found by a few letters: pieces by tag and serial, rigs by name.
import type { Piece } from '@/api/types'
import { modelName, whereWords } from './look'
import { world } from './world.svelte'

export function findTag(text: string): Piece | undefined {
  const wanted = text.trim().toLowerCase()
  return world.all('piece').find((p) => p.tag.toLowerCase() === wanted)
}

export interface Found {
  key: string
  href: string
  title: string
  detail: string
}
/** Tag first, then serial, then rigs by name. */
export function find(text: string, limit = 8): Found[] {
  const wanted = text.trim().toLowerCase()
  if (!wanted) return []
  const scored: { score: number; found: Found }[] = []
  for (const rig of world.all('rig')) {
    if (!rig.name.toLowerCase().includes(wanted)) continue
    const detail = world.get('station', rig.station)?.name ?? 'rig'
    scored.push({
      score: rig.name.toLowerCase().startsWith(wanted) ? 1 : 3,
      found: { key: rig.id, href: `/rigs/${rig.id}`, title: rig.name, detail },
    })
  }
  for (const piece of world.all('piece')) {
    const tag = piece.tag.toLowerCase()
    const inSerial = (piece.serial ?? '').toLowerCase().includes(wanted)
    if (!tag.includes(wanted) && !inSerial) continue
    const score = tag === wanted ? 0 : tag.startsWith(wanted) ? 1 : tag.includes(wanted) ? 2 : 4
    const detail = `${modelName(piece)} · ${whereWords(piece.place)}`
    scored.push({ score, found: { key: piece.id, href: `/pieces/${piece.id}`, title: piece.tag, detail } })
  }
  scored.sort(
    (a, b) => a.score - b.score || a.found.title.localeCompare(b.found.title, 'en', { numeric: true }),
  )
  return scored.slice(0, limit).map((s) => s.found)
}
