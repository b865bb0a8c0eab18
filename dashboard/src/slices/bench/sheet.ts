// The tickets as rows of a spreadsheet, in the order of the screen.
import type { BenchOrder, Id, Piece, Ticket } from '@/api/types'
import { kindWord } from '@/words/piece'
import { causeWord, holdWords, ticketWord } from '@/words/ticket'
import { standingMark } from './order'

export interface TicketNames {
  piece(id: Id): Piece | undefined
  model(piece: Piece): string
  shop(id: Id): string | undefined
}
const DAY_MS = 86_400_000

export function ticketRows(
  tickets: readonly Ticket[],
  order: BenchOrder | null,
  names: TicketNames,
  now: Date,
) {
  const ranked = new Map(order?.items.map((item) => [item.ticket, item]))
  const head = [
    ...['Tag', 'Kind', 'Model', 'What is wrong', 'State', 'Waits for', 'Shop'],
    ...['Counts as', 'Why', 'Open since', 'Open, days', 'Ready by'],
    ...['Mechanic', 'Came from', 'Cost so far', 'Lines without a price', 'Work, minutes'],
  ]
  const body = tickets.map((ticket) => {
    const piece = names.piece(ticket.piece)
    const item = ranked.get(ticket.id)
    const until = ticket.closed_at ? Date.parse(ticket.closed_at) : now.getTime()
    return [
      ...[piece?.tag ?? null, piece ? kindWord(piece.kind) : null, piece ? names.model(piece) : null],
      ...[ticket.what, ticketWord(ticket.state), holdWords(ticket) || null, names.shop(ticket.shop) ?? null],
      ...[item ? standingMark(item).word : null, item?.words ?? null, ticket.opened_at],
      ...[Math.round(((until - Date.parse(ticket.opened_at)) / DAY_MS) * 10) / 10, ticket.ready_on],
      ...[ticket.assigned_to?.name ?? null, ticket.cause ? causeWord(ticket.cause) : null],
      ...[ticket.sums.cost, ticket.sums.unpriced, ticket.sums.minutes],
    ]
  })
  return [head, ...body]
}
