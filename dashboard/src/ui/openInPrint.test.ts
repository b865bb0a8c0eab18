import { afterEach, expect, it, vi } from 'vitest'
import { openInPrint } from './openInPrint'

afterEach(() => vi.unstubAllGlobals())

it('opens on paper what is folded, and folds that alone again', () => {
  const paper = new EventTarget()
  vi.stubGlobal('window', paper)
  const folded = { open: false, closest: () => null }
  const never = { open: false, closest: () => ({}) }
  const all = [folded, never]
  const root = { querySelectorAll: () => all.filter((one) => !one.open) } as unknown as ParentNode
  const stop = openInPrint(root)
  // A browser that tells of it twice folds it all the same.
  paper.dispatchEvent(new Event('beforeprint'))
  paper.dispatchEvent(new Event('beforeprint'))
  expect([folded.open, never.open]).toEqual([true, false])
  paper.dispatchEvent(new Event('afterprint'))
  expect(folded.open).toBe(false)
  stop()
  paper.dispatchEvent(new Event('beforeprint'))
  expect(folded.open).toBe(false)
})
