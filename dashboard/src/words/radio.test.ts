import { expect, it } from 'vitest'
import { radioWords } from './radio'

it('a drop is read out as what the rig can do now; what is not known is said so', () => {
  expect(radioWords('Engine 3', 'limited', 'spreader SP-104')).toBe(
    'Engine 3: spreader SP-104 is out of service. Engine 3 can begin an extrication, not finish it alone.',
  )
  expect(radioWords('Engine 3', 'none', 'cutter CU-1')).toContain('Engine 3 cannot do an extrication.')
  for (const level of [null, undefined])
    expect(radioWords('E', level, 'hose HO-1')).toContain('not known yet')
})
