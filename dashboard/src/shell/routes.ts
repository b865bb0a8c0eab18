export const ROUTES: Record<string, string> = {
  board: '/',
  mine: '/mine',
  scan: '/scan',
  rig: '/rigs/:id',
  rigSwap: '/rigs/:id/swap',
  rigUse: '/rigs/:id/use',
  piece: '/pieces/:id',
  defect: '/pieces/:id/report',
  ticketOpen: '/pieces/:id/ticket',
  tag: '/tag/:tag',
  swaps: '/swaps',
  bench: '/bench',
  ticket: '/bench/:id',
  register: '/register',
  import: '/register/import',
  labels: '/labels',
  outbox: '/outbox',
  devices: '/devices',
  enrol: '/enrol',
  find: '/find',
  coverage: '/coverage',
  zones: '/coverage/zones',
  swapPlan: '/swaps/plan',
  past: '/past',
  pastSheet: '/rigs/:id/past',
  calendar: '/calendar',
  plan: '/calendar/plan',
  reserves: '/reserves',
  reliability: '/reliability',
}

export interface Entry {
  href: string
  name: string
  routes: string[]
  mark: string
  /** Where it stands: in the bar of a phone (five at most), in the bar of a desk, or only in the menu. */
  bar: 'phone' | 'desk' | 'both' | 'none'
}
export const NAV: Entry[] = [
  {
    href: '/mine',
    name: 'My rig',
    routes: ['mine', 'rigUse'],
    mark: 'M2 16V8h12v8M14 11h5l3 3v2M2 16h20M6 16a2 2 0 1 0 4 0M15 16a2 2 0 1 0 4 0',
    bar: 'both',
  },
  {
    href: '/',
    name: 'Board',
    routes: ['board', 'rig', 'coverage', 'zones'],
    mark: 'M3 6h18M3 12h18M3 18h11',
    bar: 'both',
  },
  {
    href: '/scan',
    name: 'Scan',
    routes: ['scan', 'tag'],
    mark: 'M3 8V3h5M16 3h5v5M21 16v5h-5M8 21H3v-5M7 12h10',
    bar: 'phone',
  },
  {
    href: '/swaps',
    name: 'Swaps',
    routes: ['swaps', 'rigSwap', 'swapPlan'],
    mark: 'M4 8h14l-4-4M20 16H6l4 4',
    bar: 'desk',
  },
  {
    href: '/bench',
    name: 'Bench',
    routes: ['bench', 'ticket', 'ticketOpen'],
    mark: 'M3 9h18M6 9v11M18 9v11M9 9V4h6v5',
    bar: 'desk',
  },
  {
    href: '/register',
    name: 'Register',
    routes: ['register', 'import', 'piece', 'defect', 'labels'],
    mark: 'M5 3h14v18H5zM9 8h6M9 12h6M9 16h3',
    bar: 'desk',
  },
  {
    href: '/calendar',
    name: 'Calendar',
    routes: ['calendar', 'plan'],
    mark: 'M4 5h16v16H4zM4 10h16M8 2v5M16 2v5',
    bar: 'desk',
  },
  {
    href: '/reserves',
    name: 'Reserves',
    routes: ['reserves', 'reliability'],
    mark: 'M3 20V4M3 20h18M7 9c4 0 4 8 13 8',
    bar: 'desk',
  },
  {
    href: '/past',
    name: 'Past',
    routes: ['past', 'pastSheet'],
    mark: 'M12 6v6l4 3M4 12a8 8 0 1 1 3 6M4 12l-2-3M4 12l3-2',
    bar: 'desk',
  },
  {
    href: '/find',
    name: 'Find',
    routes: ['find'],
    mark: 'M10 4a6 6 0 1 0 0 12a6 6 0 1 0 0-12M14.5 14.5L21 21',
    bar: 'phone',
  },
  {
    href: '/outbox',
    name: 'Outbox',
    routes: ['outbox'],
    mark: 'M4 13v7h16v-7M12 15V4M8 8l4-4l4 4',
    bar: 'phone',
  },
  {
    href: '/devices',
    name: 'Devices',
    routes: ['devices', 'enrol'],
    mark: 'M7 2h10v20H7zM11 18h2',
    bar: 'none',
  },
]
