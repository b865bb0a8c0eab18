// What became of the rows of a file, in one line: what there is none of is left out.
export interface Counts {
  accepted: number
  unchanged: number
  refused: readonly unknown[]
  passed_over?: readonly unknown[]
}

const rows = (count: number) => `${count} ${count === 1 ? 'row' : 'rows'}`

/** `done`: they were taken in, not only looked at. */
export function countedWords(run: Counts, done: boolean): string {
  const over = run.passed_over?.length ?? 0
  const parts = [
    done ? `${rows(run.accepted)} taken in` : `${rows(run.accepted)} would be taken in`,
    run.unchanged ? `${run.unchanged} already there` : '',
    `${run.refused.length} refused`,
    over ? `${over} passed over` : '',
  ]
  return parts.filter(Boolean).join(', ')
}
