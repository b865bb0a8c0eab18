// A decision that the service would refuse for its shape does not compile.
import type { Write } from 'fullset-client'
import { describe, expect, it } from 'vitest'

describe('what is written', () => {
  it('is typed by its kind', () => {
    const good: Write[] = [
      { kind: 'piece.take_out', body: { id: 'p', reason: 'bent' } },
      { kind: 'swap.end', body: { id: 's' }, expects: 7 },
      { kind: 'swap.end', body: { id: 's' }, expects: undefined },
    ]
    // @ts-expect-error: the revision that it was decided on is not thought of
    const hasty: Write = { kind: 'swap.end', body: { id: 's' } }
    // @ts-expect-error: a body of another kind
    const wrong: Write = { kind: 'piece.take_out', body: { id: 'p', note: 'bent' } }
    // @ts-expect-error: a word that is none
    const odd: Write = { kind: 'piece.move', body: { id: 'p', to: { at: 'locker' } }, expects: 1 }
    // @ts-expect-error: no such kind
    const none: Write = { kind: 'piece.take', body: { id: 'p' } }
    expect([...good, hasty, wrong, odd, none]).toHaveLength(7)
  })
})
