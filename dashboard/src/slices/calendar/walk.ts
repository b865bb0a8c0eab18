// Walking through a grid with arrow keys: from set to set, over empty cells.
export type Arrow = 'ArrowUp' | 'ArrowDown' | 'ArrowLeft' | 'ArrowRight'
interface Cell {
  set: string
  period: number
  district: string | null
}

/** The set to go to; none at the edge. `shown` is in the order of weeks, `columns` are the districts from left to right. */
export function nextOf<C extends Cell>(
  shown: C[],
  columns: string[],
  from: Cell,
  arrow: Arrow,
): C | undefined {
  const column = (cell: Cell) => {
    const at = columns.indexOf(cell.district ?? '')
    return at < 0 ? columns.length : at
  }
  const here = shown.findIndex((one) => one.set === from.set)
  if (arrow === 'ArrowUp' || arrow === 'ArrowDown') {
    const same = (one: C) => column(one) === column(from)
    return arrow === 'ArrowDown' ? shown.slice(here + 1).find(same) : shown.slice(0, here).findLast(same)
  }
  // Sideways: through the week by column, and on into the week before or after.
  const order = shown
    .map((one, at) => ({ one, at }))
    .sort((a, b) => a.one.period - b.one.period || column(a.one) - column(b.one) || a.at - b.at)
    .map(({ one }) => one)
  const at = order.findIndex((one) => one.set === from.set)
  return order[arrow === 'ArrowRight' ? at + 1 : at - 1]
}
