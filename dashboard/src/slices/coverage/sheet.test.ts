import { expect, it } from 'vitest'
import type { CoverageView, ZoneLine } from '@/api/types'
import { zoneRows } from './sheet'

it('a zone is a line with the rigs that reach it, their minutes and the target in the heading', () => {
  const view = {
    ...{ at: '2026-11-29T12:00:00Z', counts: 'crashes', target_minutes: 8 },
    rigs: [{ id: 'r', name: 'Engine 1' }],
    districts: [{ id: 'd', name: 'North' }],
  } as unknown as CoverageView
  const zone = (more: object) =>
    ({ id: 'z', name: 'Weir', weight: 3, lat: 1, lon: 2, ...more }) as unknown as ZoneLine
  const [head = [], ...body] = zoneRows(view, [
    zone({ district: 'd', first: 'r', first_minutes: 2.5, nearest_minutes: 2.5 }),
    zone({}),
  ])
  const of = (name: string) => body.map((line) => line[head.indexOf(name)])
  expect(body.every((line) => line.length === head.length)).toBe(true)
  expect(of('Demand, crashes')).toEqual([3, 3])
  expect(of('Reach within 8 minutes')).toEqual(['Reached once', 'No full rig in time'])
  expect(of('First full rig')).toEqual(['Engine 1', null])
  expect(of('First full rig, minutes')).toEqual([2.5, null])
  expect(of('District')).toEqual(['North', null])
})
