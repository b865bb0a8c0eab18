import { expect, it } from 'vitest'
import { memory } from '@/store/disk'
import { forget } from '@/store/forget'
import type { OwnLines } from './geojson'
import { dropLines, keepLines, keptLines } from './lines'

const lines = (name: string): OwnLines => ({
  ...{ name, areas: 1, roads: 0, left: 0 },
  lines: { type: 'FeatureCollection', features: [] },
})

it('lines are kept for whoever opened them, until they are taken away or their owner signs out', async () => {
  const disk = memory()
  await keepLines(disk, 'ann', lines('a.json'))
  await keepLines(disk, 'bea', lines('b.json'))
  expect((await keptLines(disk, 'ann'))?.name).toBe('a.json')
  await dropLines(disk, 'ann')
  expect(await keptLines(disk, 'ann')).toBeNull()
  await keepLines(disk, 'ann', lines('c.json'))
  await forget(disk, 'ann')
  expect(await keptLines(disk, 'ann')).toBeNull()
  expect((await keptLines(disk, 'bea'))?.name).toBe('b.json')
})
