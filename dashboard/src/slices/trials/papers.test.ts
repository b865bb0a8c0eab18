import 'fake-indexeddb/auto'
import { expect, it } from 'vitest'
import type { FieldTrial } from '@/api/types'
import { Papers } from './papers.svelte'
import { begin } from './sheet'

const trial = { id: 't', questions: [], measurements: [] } as unknown as FieldTrial

/** What a page that is loaded anew finds. */
async function found() {
  const papers = new Papers()
  await papers.open()
  return Object.keys(papers.all)
}

it('keeps a sheet that was begun before the disk answered, beside those that were on it', async () => {
  const before = new Papers()
  await before.open()
  before.keep(begin(trial, 1))
  await expect.poll(found).toEqual(['t/1'])

  const hasty = new Papers()
  const reading = hasty.open()
  hasty.keep(begin(trial, 2))
  await reading
  expect(Object.keys(hasty.all)).toEqual(['t/1', 't/2'])
  await expect.poll(found).toEqual(['t/1', 't/2'])
  expect(hasty.fault).toBe('')
})
