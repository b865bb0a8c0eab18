import { describe, expect, it } from 'vitest'
import { verdict } from './ranks.js'

describe('the import rule', () => {
  it('lets a slice name ui, store, api, words and itself', () => {
    for (const target of ['@/ui/Mark.svelte', '@/store/world', '@/api/types', '@/words/time', './parts']) {
      expect(verdict('/x/src/slices/rig/Rig.svelte', target)).toBeNull()
    }
  })
  it('stops a slice that names another slice', () => {
    expect(verdict('/x/src/slices/rig/Rig.svelte', '../piece/Piece.svelte')).toMatch(
      /may not name slice piece/,
    )
    expect(verdict('/x/src/slices/rig/Rig.svelte', '@/slices/board/Board.svelte')).toMatch(/slice board/)
  })
  it('stops ui that names a slice, the store or the words of the trade', () => {
    expect(verdict('/x/src/ui/Mark.svelte', '@/slices/rig/Rig.svelte')).not.toBeNull()
    expect(verdict('/x/src/ui/Mark.svelte', '../store/world')).not.toBeNull()
    expect(verdict('/x/src/ui/picture/layout.ts', '../../words/level')).not.toBeNull()
  })
  it('leaves packages and the root of the app alone', () => {
    expect(verdict('/x/src/ui/Mark.svelte', 'svelte')).toBeNull()
    expect(verdict('/x/src/App.svelte', './slices/board/Board.svelte')).toBeNull()
  })
})
