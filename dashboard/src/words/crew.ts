// Who is on a rig, in a line.
import type { Crew } from '@/api/types'
import { moment } from './time'

const MOST = 4

/** "Ann Lee, Bo Chan until 07:00"; of a large crew how many more. */
export function crewWords(crew: Pick<Crew, 'members' | 'until'>, now = new Date()): string {
  const until = `until ${moment(crew.until, now)}`
  if (!crew.members.length) return `Not crewed ${until}`
  const names = crew.members.slice(0, MOST).map((one) => one.name)
  const more = crew.members.length - names.length
  return `${names.join(', ')}${more ? ` and ${more} more` : ''} ${until}`
}
