import { describe, expect, it } from 'vitest'
import type { Model } from '@/api/types'
import { statedLives, withLife } from './lives'

const whip = { part: 'whip_hose' as const, years: 10, cycles: null, source: 'manual, p. 4' }
const whole = { part: 'whole' as const, years: 20, cycles: null, source: 'manual, p. 5' }
const model = (name: string, service_lives: Model['service_lives']) => ({ name, service_lives }) as Model

describe('how long models serve', () => {
  it('stands by model', () => {
    const found = statedLives([model('B', [whole]), model('A', [whip, whole]), model('C', [])])
    expect(found.map(({ model: of, life }) => `${of.name} ${life.part}`)).toEqual([
      'A whip_hose',
      'A whole',
      'B whole',
    ])
  })

  it('sets one part and leaves the others', () => {
    const own = model('A', [whip, whole])
    expect(withLife(own, 'whip_hose', { ...whip, years: 8 })).toEqual([whole, { ...whip, years: 8 }])
    expect(withLife(own, 'whip_hose', null)).toEqual([whole])
    expect(withLife(own, 'bag', { ...whip, part: 'bag' })).toHaveLength(3)
  })
})
