export const ROUTES: Record<string, string> = {
  board: '/',
  rig: '/rigs/:id',
  rigSwap: '/rigs/:id/swap',
  piece: '/pieces/:id',
  defect: '/pieces/:id/report',
  ticketOpen: '/pieces/:id/ticket',
  tag: '/tag/:tag',
  swaps: '/swaps',
  bench: '/bench',
  ticket: '/bench/:id',
  register: '/register',
  import: '/register/import',
  find: '/find',
}
export const NAV = [
  { href: '/', name: 'Board', routes: ['board', 'rig'], mark: 'M3 6h18M3 12h18M3 18h11' },
  { href: '/swaps', name: 'Swaps', routes: ['swaps', 'rigSwap'], mark: 'M4 8h14l-4-4M20 16H6l4 4' },
  {
    href: '/bench',
    name: 'Bench',
    routes: ['bench', 'ticket', 'ticketOpen'],
    mark: 'M3 9h18M6 9v11M18 9v11M9 9V4h6v5',
  },
  {
    href: '/register',
    name: 'Register',
    routes: ['register', 'import', 'piece', 'defect', 'tag'],
    mark: 'M5 3h14v18H5zM9 8h6M9 12h6M9 16h3',
  },
]
