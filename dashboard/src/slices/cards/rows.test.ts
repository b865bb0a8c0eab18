import { expect, it } from 'vitest'
import type { Model, OperatingCard, RigClass } from '@/api/types'
import { cardRows } from './rows'

const model = (id: string) => ({ id, name: `Model ${id}`, kind: 'cutter' }) as Model
const approved = { version: 1, text: {} } as OperatingCard
const withdrawn = { version: 1, text: null } as OperatingCard

it('what waits stands first, then what most carry without a card; one that was withdrawn is none', () => {
  const pieces: Record<string, number> = { '1': 3, '2': 9, '3': 5, '10': 3 }
  const cards: Record<string, OperatingCard> = { '1': approved, '3': withdrawn }
  const rows = cardRows(
    ['1', '2', '3', '10'].map(model),
    [{ id: 'c', name: 'Engine' } as RigClass],
    (id) => pieces[id] ?? 0,
    () => 1,
    (id) => cards[id],
    (id) => (id === '10' ? 2 : 0),
  )
  expect(rows.map((row) => [row.name, row.stand, row.what])).toEqual([
    ['Model 10', 'draft', 'cutter, 3 pieces'],
    ['Model 2', 'none', 'cutter, 9 pieces'],
    ['Model 3', 'none', 'cutter, 5 pieces'],
    ['Engine', 'none', 'rig class, 1 rig'],
    ['Model 1', 'approved', 'cutter, 3 pieces'],
  ])
})
