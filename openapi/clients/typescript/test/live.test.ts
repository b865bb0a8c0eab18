import { describe, expect, it } from 'vitest'
import { backoff, eventReader, revisionOf } from '../src'

describe('the live stream', () => {
  it('reads events that come in pieces, and passes over comments', () => {
    const read = eventReader()
    expect(read(': beat\n\nid: 7\nevent: revi')).toEqual([])
    expect(read('sion\ndata: {"revision":7}\n\n')).toEqual([{ event: 'revision', data: '{"revision":7}' }])
    expect(read('data: a\ndata: b\r\n\r\n')).toEqual([{ event: 'message', data: 'a\nb' }])
  })
  it('takes a revision only where there is one', () => {
    expect(revisionOf('{"revision": 12}')).toBe(12)
    expect(revisionOf('{"revision":"12"}')).toBeNull()
    expect(revisionOf('nonsense')).toBeNull()
  })
  it('waits longer after each failure, and never longer than fifteen seconds', () => {
    expect(backoff(1, 1)).toBe(1000)
    expect(backoff(3, 1)).toBe(4000)
    expect(backoff(50, 1)).toBe(15000)
    expect(backoff(50, 0)).toBe(9000)
  })
})
