import { describe, expect, it } from 'vitest'
import type { ImportProgress } from '@/api/types'
import type { Reply } from 'fullset-client'
import { follow, progressWords } from './progress'

const at = (stage: ImportProgress['stage'], more: Partial<ImportProgress> = {}): ImportProgress => ({
  id: 'i',
  dry_run: false,
  stage,
  rows_done: 0,
  rows: null,
  ...more,
})
const good = (data: ImportProgress): Reply<ImportProgress> => ({ ok: true, data })
const bad = (status: number): Reply<ImportProgress> => ({
  ok: false,
  problem: { code: 'x', title: '', status },
})

/** Asks until these answers are used up; answers what was told. */
async function told(answers: Reply<ImportProgress>[]): Promise<(ImportProgress | null)[]> {
  const heard: (ImportProgress | null)[] = []
  let asked = 0
  await follow({
    ask: () => Promise.resolve(answers[asked++]!),
    tell: (progress) => heard.push(progress),
    ended: () => asked >= answers.length && heard.length > 0,
    pause: () => Promise.resolve(),
  })
  return heard
}

describe('an import that is followed', () => {
  it('tells what the service said, and that it is not known; no answer tells nothing', async () => {
    const [one, two] = [at('reading'), at('writing', { rows_done: 1, rows: 2 })]
    // The last is asked and not told: the import had ended by then.
    const answers = [good(one), bad(0), bad(503), bad(404), good(two), good(two)]
    expect(await told(answers)).toEqual([one, null, two])
  })
  it('asks nothing once it has ended', async () => {
    let asked = 0
    await follow({
      ask: () => Promise.resolve((asked++, bad(404))),
      tell: () => expect.unreachable(),
      ended: () => true,
      pause: () => Promise.resolve(),
    })
    expect(asked).toBe(0)
  })
  it('asks one question at a time', async () => {
    let [open, most, left] = [0, 0, 5]
    await follow({
      ask: async () => {
        most = Math.max(most, ++open)
        await new Promise((resolve) => setTimeout(resolve, 1))
        open--
        return bad(404)
      },
      tell: () => left--,
      ended: () => left === 0,
      pause: () => Promise.resolve(),
    })
    expect(most).toBe(1)
  })
})

it('says what is being done, in rows only where they are counted', () => {
  expect(progressWords(null)).toBe('The file was sent. How far it is, the server has not said yet.')
  expect(progressWords(at('reading'))).toBe('The server reads the file.')
  expect(progressWords(at('waiting'))).toMatch(/waits for its turn/)
  const rows = { rows_done: 1200, rows: 20_000 }
  expect(progressWords(at('writing', rows))).toBe('1,200 of 20,000 rows written. They count once all are in.')
  expect(progressWords(at('writing', { rows_done: 0, rows: 1, dry_run: true }))).toBe(
    '0 of 1 row tried out. Nothing of it is kept.',
  )
  expect(progressWords(at('judging', { ...rows, dry_run: true }))).toMatch(/^All 20,000 rows tried out/)
  // A server that says more than this screen knows.
  expect(progressWords({ ...at('reading'), stage: 'sweeping' as never })).toBe('The server works on it.')
})
