// What is found by a few letters: pieces and rigs by what people call them, by what they are and by where they stand.
import type { Piece } from '@/api/types'
import { kindWord } from '@/words/piece'
import { apartWords } from './apart'
import { modelName, whereWords } from './look'
import { fit } from './match'
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
const SLIP = 8

/** The best fits first; what only fits by a typing error is shown where nothing else does. */
export function find(text: string, limit = 8): Found[] {
  const scored: { score: number; title: string; found: () => Found }[] = []
  const put = (score: number | null, title: string, found: () => Omit<Found, 'title'>) =>
    score !== null && scored.push({ score, title, found: () => ({ ...found(), title }) })
  for (const rig of world.all('rig')) {
    const station = world.get('station', rig.station)?.name ?? ''
    put(fit(text, { name: rig.name, about: `rig ${station}` }), rig.name, () => ({
      ...{ key: rig.id, href: `/rigs/${rig.id}`, detail: station || 'rig' },
    }))
  }
  for (const piece of world.all('piece')) {
    const { tag, serial, kind } = piece
    const about = `${kindWord(kind)} ${modelName(piece)} ${stationOf(piece)}`
    put(fit(text, { name: tag, serial, about }), tag, () => ({
      ...{ key: piece.id, href: `/pieces/${piece.id}` },
      detail: [kindWord(kind), modelName(piece), whereWords(piece.place), apartWords(piece)]
        .filter(Boolean)
        .join(' · '),
    }))
  }
  scored.sort((a, b) => a.score - b.score || a.title.localeCompare(b.title, 'en', { numeric: true }))
  const sure = scored.filter(({ score }) => score < SLIP)
  return (sure.length ? sure : scored).slice(0, limit).map(({ found }) => found())
}

/** Where it is, with the station of the rig that it rides on. */
function stationOf({ place }: Piece): string {
  const rig = place.at === 'rig' ? world.get('rig', place.rig) : undefined
  return `${whereWords(place)} ${rig ? (world.get('station', rig.station)?.name ?? '') : ''}`
}
