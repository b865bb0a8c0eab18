// What the crew of a rig reads of a new set that is planned for it. Who may work with what is the service's to judge; here stands what is on
// record of the reader alone.
import { holds, type Handled, type Signed } from './signoff'
import { dateWords } from './time'

const noon = (day: string) => Date.parse(`${day.slice(0, 10)}T12:00:00Z`)
const DAY = 86_400_000

/** The Monday on which the week of a day began. */
export function mondayOf(day: string): string {
  const at = noon(day)
  return new Date(at - ((new Date(at).getUTCDay() + 6) % 7) * DAY).toISOString().slice(0, 10)
}

/** Whether sign-offs are on record for a model of a new set. What takes one there names a family. */
export const isSignedOff = (sign_offs: Signed['sign_offs'], of: Handled, today: string) =>
  !of.family || holds({ sign_offs }, of, today)

/** `signed`: null where nobody knows here, undefined where it does not concern the reader. */
export function newSetWords(
  week: string | null | undefined,
  signed: boolean | null | undefined,
  today: string,
): string {
  const monday = mondayOf(today)
  const when =
    week === monday ? ' for this week' : week ? ` for the week of ${dateWords(week)}` : ', no week yet'
  const late = week && week < monday ? ', which is over' : ''
  const you = {
    true: '; you are signed off on it',
    false: '; you are not signed off on it yet',
    null: '; whether you are signed off on it is not known here',
    undefined: '',
  }
  return `New set planned${when}${late}${you[`${signed}`]}`
}
