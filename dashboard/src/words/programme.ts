// The parts of the programme, as the row of tabs over each of them names them.
import { spelled } from './locale'

export type Part =
  | 'grades'
  | 'agency'
  | 'policy'
  | 'releases'
  | 'checks'
  | 'limits'
  | 'people'
  | 'rigs'
  | 'places'
  | 'models'
  | 'cards'
  | 'couplings'
  | 'sets'
  | 'rollouts'
  | 'trials'
  | 'dispatch'
  | 'keys'
  | 'events'

const PARTS: Record<Part, string> = {
  grades: 'Grades',
  agency: 'Agency',
  policy: 'Policy',
  releases: 'Defects and returns',
  checks: 'Check plans',
  limits: 'Maker’s limits',
  people: 'People',
  rigs: 'Rigs',
  places: 'Places',
  models: 'Models',
  cards: 'Operating cards',
  couplings: 'Couplings',
  sets: 'Tool sets',
  rollouts: 'Rollouts',
  trials: 'Field trials',
  dispatch: 'Telling dispatch',
  keys: 'Keys',
  events: 'Sign-ins',
}
export const programmeTabs = (at: Part) => [
  { href: '/programme', words: spelled('Programme'), here: false },
  ...(Object.keys(PARTS) as Part[]).map((part) => ({
    href: `/programme/${part}`,
    words: PARTS[part],
    here: part === at,
  })),
]
