import { describe, expect, it } from 'vitest'
import type { BoardChange } from '@/api/types'
import { changeAfter, changeBefore, type Ask } from './step'

const start = Date.parse('2026-01-01T00:00:00Z')
const now = new Date('2026-12-01T00:00:00Z')
const day = (n: number) => new Date(start + n * 86_400_000).toISOString()

/** A service with one change on each of some days; revision and day are the same number. At most `most` at once. */
function service(days: number[], most = 500): { ask: Ask; asked: number } {
  const counted = {
    asked: 0,
    ask: (async (query) => {
      counted.asked++
      const until = Date.parse(query['until'] ?? '')
      const after = query['revision']
        ? Number(query['revision'])
        : (Date.parse(query['at'] ?? '') - start) / 86_400_000
      const found = days.filter((d) => d > after && Date.parse(day(d)) <= until).toReversed()
      const items = found.slice(0, most).map((d) => ({ revision: d, at: day(d) }) as BoardChange)
      return { revision: 0, at: '', until: '', items, more: found.length > most }
    }) as Ask,
  }
  return counted
}

describe('steps', () => {
  it('go to the next change, however far it is', async () => {
    expect(await changeAfter(service([1, 2, 200]).ask, day(2), 2, now)).toEqual({ revision: 200 })
    expect(await changeAfter(service([1, 2, 3]).ask, day(1), 1, now)).toEqual({ revision: 2 })
  })
  it('go to the next change also when there are more than fit in one answer', async () => {
    const days = Array.from({ length: 300 }, (_, i) => i + 10)
    const busy = service(days, 5)
    expect(await changeAfter(busy.ask, day(1), 1, now)).toEqual({ revision: 10 })
    expect(busy.asked).toBeLessThan(12)
  })
  it('go to the change before, and not to the one that is shown', async () => {
    expect(await changeBefore(service([1, 5, 9]).ask, day(9), 9)).toEqual({ revision: 5 })
    expect(await changeBefore(service([5, 300]).ask, day(300), 300)).toEqual({ revision: 5 })
  })
  it('say when there is none', async () => {
    expect(await changeAfter(service([1]).ask, day(1), 1, now)).toEqual({ none: true })
    expect(await changeBefore(service([1]).ask, day(1), 1)).toEqual({ none: true })
  })
  it('hand a problem on', async () => {
    const problem = { code: 'no-connection', title: 'No connection', status: 0 }
    expect(await changeBefore(async () => problem, day(1), 1)).toEqual({ problem })
  })
})
