// The names of days and months, as the rules of the calendar count them.
export const MONTHS = [
  'January',
  'February',
  'March',
  'April',
  'May',
  'June',
  'July',
  'August',
  'September',
  'October',
  'November',
  'December',
]
const DAY_NAMES: Record<string, string> = {
  MO: 'Monday',
  TU: 'Tuesday',
  WE: 'Wednesday',
  TH: 'Thursday',
  FR: 'Friday',
  SA: 'Saturday',
  SU: 'Sunday',
}
export const dayName = (day: string) => DAY_NAMES[day] ?? day
/** In the order of the week. */
export const dayNames = (days: string[]) =>
  Object.keys(DAY_NAMES)
    .filter((one) => days.includes(one))
    .map(dayName)

/** "1st", "22nd", "13th". */
export function ordinal(n: number): string {
  const teen = n % 100 > 10 && n % 100 < 14
  return `${n}${teen ? 'th' : (['th', 'st', 'nd', 'rd'][n % 10] ?? 'th')}`
}
/** "07:00" of "07:00:00". */
export const clockOf = (time: string) => time.slice(0, 5)
