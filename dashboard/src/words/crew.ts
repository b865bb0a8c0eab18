// Who is on a rig, in a line.
import type { Crew, UnsignedGear } from '@/api/types'
import { moment, spoken } from './time'

const MOST = 4

const OPENING = 'nobody aboard is signed off on '

/** What nobody aboard is signed off on, in one sentence: the server's own, each after the first without the words that they share. */
export function unsignedWords(all: Pick<UnsignedGear, 'words'>[], now = new Date()): string {
  const said = all.map(({ words }, n) =>
    n && words.startsWith(OPENING) ? words.slice(OPENING.length) : words,
  )
  // A sentence that says when the last sign-off ended has a sign of its own in it.
  const joined = spoken(said.join(said.some((words) => words.includes(';')) ? '; ' : ', '), now)
  return joined.charAt(0).toUpperCase() + joined.slice(1)
}

/** "Ann Lee, Bo Chan until 07:00"; of a large crew how many more. */
export function crewWords(crew: Pick<Crew, 'members' | 'until'>, now = new Date()): string {
  const until = `until ${moment(crew.until, now)}`
  if (!crew.members.length) return `Not crewed ${until}`
  const names = crew.members.slice(0, MOST).map((one) => one.name)
  const more = crew.members.length - names.length
  return `${names.join(', ')}${more ? ` and ${more} more` : ''} ${until}`
}
