import { describe, expect, it } from 'vitest'
import { matchRoute, withQuery } from './router.svelte'

const ROUTES = { board: '/', rig: '/rigs/:id', swap: '/rigs/:id/swap', tag: '/tag/:tag' }

describe('the router', () => {
  it('finds the screen of an address and its parts', () => {
    expect(matchRoute(ROUTES, '/')).toEqual({ name: 'board', params: {} })
    expect(matchRoute(ROUTES, '/rigs/r1/')).toEqual({ name: 'rig', params: { id: 'r1' } })
    expect(matchRoute(ROUTES, '/rigs/r1/swap')).toEqual({ name: 'swap', params: { id: 'r1' } })
    expect(matchRoute(ROUTES, '/tag/H%20101')).toEqual({ name: 'tag', params: { tag: 'H 101' } })
  })
  it('leads nowhere for an unknown or broken address', () => {
    expect(matchRoute(ROUTES, '/nowhere')).toBeNull()
    expect(matchRoute(ROUTES, '/rigs/r1/swap/more')).toBeNull()
    expect(matchRoute(ROUTES, '/tag/%E0%A4%A')).toBeNull()
  })
  it('keeps the other filters when one changes, and drops an empty one', () => {
    expect(withQuery('?district=d1&level=full', { level: 'none' })).toBe('?district=d1&level=none')
    expect(withQuery('?level=full', { level: '' })).toBe('')
  })
})
