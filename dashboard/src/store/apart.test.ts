import { describe, expect, it } from 'vitest'
import type { RigStanding } from '@/api/types'
import { joinsWords } from './apart'

const tag = (id: string) => id.toUpperCase()
const via = (source: string, ...parts: string[]) => ({ by: 'line', source, parts })
const answer = {
  needs: [{ pieces: [{ piece: 'cu-1', via: via('pu-1', 'ho-1') }] }],
  fillings: [
    { slot: 's', piece: 'sp-1', via: via('pu-1', 'ho-2') },
    { slot: 't', piece: 'rm-1', via: via('pu-1', 'ho-2') },
    { slot: 'u', piece: null, via: null },
  ],
} as unknown as Pick<RigStanding, 'needs' | 'fillings'>

describe('two hoses of one rig', () => {
  it('are told apart by what they join', () => {
    expect(joinsWords('ho-1', answer, tag)).toBe('PU-1 to CU-1')
    expect(joinsWords('ho-2', answer, tag)).toBe('PU-1 to SP-1, RM-1')
  })
  it('and by their place in one line', () => {
    const line = { needs: [], fillings: [{ slot: 's', piece: 'cu-1', via: via('pu-1', 'ho-1', 'ho-2') }] }
    const of = (id: string) => joinsWords(id, line as unknown as typeof answer, tag)
    expect(of('ho-1')).toBe('PU-1 to CU-1, number 1 from the source')
    expect(of('ho-2')).toBe('PU-1 to CU-1, number 2 from the source')
  })
  it('and nothing is said of one that joins nothing, or where no answer has come', () => {
    expect(joinsWords('ho-3', answer, tag)).toBe('')
    expect(joinsWords('ho-1', undefined, tag)).toBe('')
  })
})
