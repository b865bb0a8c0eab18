import type { Ticket, TicketCause, TicketState, TicketStep, TicketWaitReason } from '@/api/types'
import { said } from './said'
import { dateIn, dateWords } from './time'

/** Where the piece lies in a shop's day, not where a request stands in a queue. */
const WORDS: Record<TicketState, string> = {
  waiting: 'Not taken in yet',
  accepted: 'Taken in',
  working: 'On the bench',
  on_hold: 'Set aside',
  tested: 'Tested, ready to go home',
  closed: 'Done',
}
export const TICKET_STATES = Object.keys(WORDS) as TicketState[]
export const ticketWord = (state: TicketState) => WORDS[state] ?? state

/** What a step has done, once it is done. */
const DONE: Record<TicketStep, string> = {
  'ticket.accept': 'taken in',
  'ticket.work': 'on the bench',
  'ticket.wait': 'set aside',
  'ticket.assign': 'its mechanic written down',
  'ticket.promise': 'its day written down',
  'ticket.include': 'more defects on the ticket',
  'ticket.line': 'part or work written down',
  'ticket.cause': 'its cause written down',
  'ticket.test': 'test written down',
  'ticket.return': 'in service again',
  'ticket.drop': 'repair given up, not returned to service',
}
export const doneWords = (step: TicketStep) => DONE[step]

const WAITS: Record<TicketWaitReason, string> = {
  part: 'a part',
  outside_service: 'somebody outside',
  decision: 'a decision about the cost',
  answer: 'an answer from the crew or the maker',
  bench: 'room on the bench',
  transport: 'somebody to bring or fetch it',
}
export const WAIT_REASONS = Object.entries(WAITS) as [TicketWaitReason, string][]

const CAUSED: Record<TicketCause, string> = {
  wear: 'Worn by use',
  age: 'Old, though little used',
  hard_use: 'Damaged by hard work it is made for',
  wrong_use: 'Damaged by work it is not made for',
  accident: 'Dropped, driven over or shut in a door',
  care: 'Care missed or done wrong',
  make: 'A fault of material or make',
  contamination: 'Other fluid, water or dirt inside',
  no_fault: 'Nothing was wrong, or planned work',
  unknown: 'Looked for, not found',
}
export const CAUSES = Object.entries(CAUSED) as [TicketCause, string][]
export const causeWord = (cause: TicketCause) => CAUSED[cause] ?? cause

/** "Ready by 3 Dec", that the day is past, and what was promised first; nothing of what is ready or done. */
export function promiseWords(ticket: Ticket, now: Date): string {
  const { promise } = ticket
  if (!promise || ticket.state === 'tested' || ticket.state === 'closed') return ''
  const day = `ready by ${dateWords(promise.on)}`
  const late = promise.on < dateIn(now) ? ', that day is past' : ''
  return promise.moved ? `${day}${late}; first promised ${dateWords(promise.first)}` : `${day}${late}`
}

export function holdWords(ticket: Ticket): string {
  if (ticket.state !== 'on_hold') return ''
  const reason = ticket.hold_reason ? WAITS[ticket.hold_reason] : ''
  const exactly = ticket.hold_for ? said(ticket.hold_for) : ''
  const what = reason || exactly ? `waits for ${[reason, exactly].filter(Boolean).join(': ')}` : 'waits'
  return ticket.expected_on ? `${what}, expected ${dateWords(ticket.expected_on)}` : `${what}, no date given`
}

/** The next steps in the order of the work; what the ticket allows stands on its record. */
export const NEXT: Record<TicketState, TicketStep[]> = {
  waiting: ['ticket.accept'],
  accepted: ['ticket.work', 'ticket.promise', 'ticket.wait', 'ticket.test'],
  working: ['ticket.test', 'ticket.wait', 'ticket.line'],
  on_hold: ['ticket.work', 'ticket.line'],
  tested: ['ticket.return', 'ticket.work', 'ticket.test'],
  closed: [],
}
