import type { Ticket, TicketState, TicketStep } from '@/api/types'
import { said } from './said'
import { dateWords } from './time'

const WORDS: Record<TicketState, string> = {
  waiting: 'Waiting to be accepted',
  accepted: 'Accepted',
  working: 'Being worked on',
  on_hold: 'On hold',
  tested: 'Tested, waiting to go back',
  closed: 'Closed',
}
export const TICKET_STATES = Object.keys(WORDS) as TicketState[]
export const ticketWord = (state: TicketState) => WORDS[state] ?? state

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
