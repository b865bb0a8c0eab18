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
  notices: '/notices',
  noticeNew: '/notices/new',
  notice: '/notices/:id',
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
  programme: '/programme',
  grades: '/programme/grades',
  policy: '/programme/policy',
}

export interface Entry {
  href: string
  name: string
  routes: string[]
  mark: string
  /** Where it stands: in the bar of a phone (five at most), of a desk, of a desk with room to spare, or only in the menu. */
  bar: 'phone' | 'desk' | 'wide' | 'both' | 'none'
  /** Only for who may do this; others come by links. */
  may?: string
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
    href: '/notices',
    name: 'Safety notices',
    routes: ['notices', 'noticeNew', 'notice'],
    mark: '',
    bar: 'none',
    may: 'notice.seek',
  },
  {
    href: '/register',
    name: 'Register',
    routes: ['register', 'import', 'piece', 'defect', 'labels'],
    mark: 'M5 3h14v18H5zM9 8h6M9 12h6M9 16h3',
    bar: 'wide',
  },
  {
    href: '/calendar',
    name: 'Calendar',
    routes: ['calendar', 'plan'],
    mark: 'M4 5h16v16H4zM4 10h16M8 2v5M16 2v5',
    bar: 'wide',
  },
  {
    href: '/reserves',
    name: 'Reserves',
    routes: ['reserves', 'reliability'],
    mark: 'M3 20V4M3 20h18M7 9c4 0 4 8 13 8',
    bar: 'wide',
  },
  {
    href: '/past',
    name: 'Past',
    routes: ['past', 'pastSheet'],
    mark: 'M12 6v6l4 3M4 12a8 8 0 1 1 3 6M4 12l-2-3M4 12l3-2',
    bar: 'wide',
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
    href: '/programme',
    name: 'Programme',
    routes: ['programme', 'grades', 'policy'],
    mark: 'M4 6h16M4 12h16M4 18h16M8 4v4M15 10v4M10 16v4',
    bar: 'none',
  },
  {
    href: '/devices',
    name: 'Devices',
    routes: ['devices', 'enrol'],
    mark: 'M7 2h10v20H7zM11 18h2',
    bar: 'none',
  },
]
