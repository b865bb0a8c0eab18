// Which part draws the screen of each route. All but the first screens are fetched when somebody goes there.
import type { Component } from 'svelte'

export type Screen = Component<{ id: string }>

export const SCREENS: Record<string, () => Promise<{ default: unknown }>> = {
  rig: () => import('../slices/rig/Rig.svelte'),
  mine: () => import('../slices/mine/Mine.svelte'),
  scan: () => import('../slices/scan/Scan.svelte'),
  rigSwap: () => import('../slices/swap/Swap.svelte'),
  rigUse: () => import('../slices/use/Use.svelte'),
  swaps: () => import('../slices/swap/Swaps.svelte'),
  piece: () => import('../slices/piece/Piece.svelte'),
  tag: () => import('../slices/piece/ByTag.svelte'),
  defect: () => import('../slices/defect/Report.svelte'),
  bench: () => import('../slices/bench/Bench.svelte'),
  ticket: () => import('../slices/bench/TicketPage.svelte'),
  ticketOpen: () => import('../slices/bench/OpenTicket.svelte'),
  register: () => import('../slices/register/Register.svelte'),
  import: () => import('../slices/register/Import.svelte'),
  labels: () => import('../slices/register/Labels.svelte'),
  outbox: () => import('../slices/outbox/Outbox.svelte'),
  devices: () => import('../slices/devices/Devices.svelte'),
  enrol: () => import('../slices/devices/Enrol.svelte'),
  past: () => import('../slices/past/Past.svelte'),
  pastSheet: () => import('../slices/past/Sheet.svelte'),
  reserves: () => import('../slices/reserves/Reserves.svelte'),
  reliability: () => import('../slices/reserves/Reliability.svelte'),
  coverage: () => import('../slices/coverage/Coverage.svelte'),
  zones: () => import('../slices/coverage/Zones.svelte'),
  swapPlan: () => import('../slices/swap/Plan.svelte'),
  programme: () => import('../slices/programme/Programme.svelte'),
  grades: () => import('../slices/programme/Grades.svelte'),
  policy: () => import('../slices/programme/Policy.svelte'),
  find: () => import('./FindPage.svelte'),
  calendar: () => import('../slices/calendar/Calendar.svelte'),
  plan: () => import('../slices/calendar/Plan.svelte'),
}
