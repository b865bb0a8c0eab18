import { describe, expect, it } from 'vitest'
import { mayLeak, trialWords } from './tried'

describe('a trial on the rig', () => {
  it('says what to do with each kind of piece', () => {
    expect(trialWords('cutter', false)).toBe('hooked up, opened and closed, no leak')
    expect(trialWords('cutter', true)).toBe('ran under its pack, opened and closed')
    expect(trialWords('ram', false)).toBe('hooked up, ran out and back, no leak')
    expect(trialWords('power_unit', false)).toBe('ran at pressure, no leak')
    expect(trialWords('hose', false)).toContain('no leak')
    expect(trialWords('battery', true)).toBe('a tool ran under it')
  })
  it('warns of leaks where fluid runs', () => {
    expect(mayLeak([{ kind: 'cutter', battery: true }])).toBe(false)
    expect(mayLeak([{ kind: 'battery', battery: true }])).toBe(false)
    expect(
      mayLeak([
        { kind: 'cutter', battery: true },
        { kind: 'hose', battery: false },
      ]),
    ).toBe(true)
  })
})
