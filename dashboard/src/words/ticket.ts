import type { Ticket, TicketState, TicketStep } from '@/api/types'
import { said } from './said'
import { dateWords } from './time'

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
  'ticket.line': 'part or work written down',
  'ticket.test': 'test written down',
  'ticket.return': 'in service again',
  'ticket.drop': 'repair given up, not returned to service',
}
export const doneWords = (step: TicketStep) => DONE[step]

export function holdWords(ticket: Ticket): string {
  if (ticket.state !== 'on_hold') return ''
  const what = ticket.hold_for ? `waits for ${said(ticket.hold_for)}` : 'waits'
  return ticket.expected_on ? `${what}, expected ${dateWords(ticket.expected_on)}` : `${what}, no date given`
}

/** The next steps in the order of the work; what the ticket allows stands on its record. */
export const NEXT: Record<TicketState, TicketStep[]> = {
  waiting: ['ticket.accept'],
  accepted: ['ticket.work', 'ticket.wait', 'ticket.test'],
  working: ['ticket.test', 'ticket.wait', 'ticket.line'],
  on_hold: ['ticket.work', 'ticket.line'],
  tested: ['ticket.return', 'ticket.work', 'ticket.test'],
  closed: [],
}
