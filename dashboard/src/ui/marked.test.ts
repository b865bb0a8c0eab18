import { describe, expect, it } from 'vitest'
import { marked, type Block } from './marked'

/** What is left when only the words are kept. */
const plain = (blocks: Block[]) =>
  blocks.map((block) => block.lines.map((line) => line.map((run) => run.text).join('')))

describe('Markdown of a card', () => {
  it('is paragraphs, lists and stress', () => {
    expect(marked('Left side,\n**second** door.\n\n1. Pack in\n2. Press *on*\n- done')).toEqual([
      { as: 'p', lines: [[{ text: 'Left side,' }], [{ text: 'second', as: 'strong' }, { text: ' door.' }]] },
      { as: 'ol', from: 1, lines: [[{ text: 'Pack in' }], [{ text: 'Press ' }, { text: 'on', as: 'em' }]] },
      { as: 'ul', lines: [[{ text: 'done' }]] },
    ])
  })
  it('goes on counting where a list was broken', () =>
    expect(marked('1. a\n\nthen\n\n2. b').at(-1)).toMatchObject({ as: 'ol', from: 2 }))
  it('takes nothing else for more than words', () => {
    for (const text of [
      '<script>alert(1)</script>',
      '<img src=x onerror=alert(1)>',
      '[manual](javascript:alert(1))',
      '![x](https://maker.example/x.png)',
      '# Start',
      '5 * 3 * 2 bar',
      'a ** b',
      '`code` and | table |',
    ])
      expect(plain(marked(text))).toEqual([[text]])
  })
  it('loses no word, whatever stands in it', () => {
    for (const text of ['***a***', '**a', '*a', '**a** *b* **c', '*', '**', '1.', '-'])
      expect(plain(marked(text)).flat().join('').replaceAll('*', '')).toBe(text.replaceAll('*', ''))
    expect(marked('')).toEqual([])
  })
})
