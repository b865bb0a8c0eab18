// What tells a piece from the next one of its kind: what it joins where it rides, how long it is, which serial is on its plate.
import type { Id, Piece, RigStanding } from '@/api/types'
import { ratingValue } from '@/words/ratings'
import { session } from './session.svelte'
import { world } from './world.svelte'

/** "PU-105 to CU-104, 10 m, serial 7731". */
export function apartWords(piece: Piece): string {
  const rig = piece.place.at === 'rig' ? piece.place.rig : undefined
  const ratings = world.get('model', piece.model)?.ratings
  const long = piece.kind === 'hose' ? ratings?.hose_length : undefined
  return [
    joinsWords(piece.id, world.get('rig_standing', rig), (id) => world.name('piece', id) ?? ''),
    long ? ratingValue(long, session.units) : '',
    piece.serial ? `serial ${piece.serial}` : '',
  ]
    .filter(Boolean)
    .join(', ')
}

/** Of a hose or adapter: between which source and which tools the server counts it. */
export function joinsWords(
  id: Id,
  answer: Pick<RigStanding, 'needs' | 'fillings'> | undefined,
  tag: (id: Id) => string,
): string {
  const ends = new Set<string>()
  let source = ''
  let place = ''
  const all = [...(answer?.needs ?? []).flatMap((need) => need.pieces), ...(answer?.fillings ?? [])]
  for (const { piece, via } of all) {
    if (!piece || via?.by !== 'line' || !via.parts.includes(id)) continue
    source = tag(via.source)
    ends.add(tag(piece))
    if (via.parts.length > 1) place = `, number ${via.parts.indexOf(id) + 1} from the source`
  }
  return source && ends.size ? `${source} to ${[...ends].join(', ')}${place}` : ''
}
