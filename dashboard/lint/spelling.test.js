// No screen spells for one country alone: a word that countries spell in two ways goes through `spelled`, or another word is taken.
import { readdirSync, readFileSync } from 'node:fs'
import path from 'node:path'
import { fileURLToPath } from 'node:url'
import { describe, expect, it } from 'vitest'
import { SPELLINGS } from '../src/words/locale'

const SRC = path.join(path.dirname(fileURLToPath(import.meta.url)), '..', 'src')
/** Words that no screen needs: British and American (common practice, no source). Who does need one adds it to SPELLINGS. */
const AVOIDED =
  `analyse analyze|apologise apologize|authorise authorize|behaviour behavior|cancelled canceled|catalogue catalog
  centre center|cheque check|colour color|defence defense|favour favor|fibre fiber|grey gray|harbour harbor|honour honor|kilometre kilometer
  labelled labeled|labour labor|licence license|litre liter|manoeuvre maneuver|metre meter|millimetre millimeter|mould mold|neighbour neighbor
  organise organize|practise practice|practised practiced|recognise recognize|travelled traveled|tyre tire|vapour vapor|enrolment enrollment`
    .split(/[|\n]/)
    .map((pair) => pair.trim().split(' '))
/** Right in all countries in another sense: a meter on a pump, to practice and practice, to check, to tire. */
const ALSO = ['meter', 'practice', 'check', 'tire', 'license']
const WORDS = [...SPELLINGS.map(([from, to]) => [from, to]), ...AVOIDED]
  .flat()
  .filter((word) => !ALSO.includes(word))

/** What a screen may say: without comments, imports, addresses, and what went through the list. */
const spoken = (text) =>
  text
    .replace(/\/\*[\s\S]*?\*\//g, '')
    .replace(/<!--[\s\S]*?-->/g, '')
    .replace(/<style[\s\S]*?<\/style>/g, '')
    .replace(/(^|\s)\/\/.*$/gm, '$1')
    .replace(/^\s*(import|export) .* from .*$/gm, '')
    .replace(/\bspelled\((?:'[^']*'|"[^"]*"|`[^`]*`)/g, '')
/** A word that people read: not a name in code, a part of an address, a key or a value of the API. */
const READ = new RegExp(`(?<![\\w./<-]|\\{ )(?:${WORDS.join('|')})(?:s|ed|ing)?(?![\\w(]|['"]?:|-)`, 'gi')
const found = (text) =>
  [...spoken(text).matchAll(READ)]
    .filter(
      ({ 0: word, index, input }) =>
        // A program of a computer is one everywhere; the agency's own has a capital, or goes through the list. 'labour' alone in quotes, in small letters, is a value.
        word !== 'program' &&
        word !== 'programs' &&
        !(/['"]/.test(input[index - 1]) && /['"]/.test(input[index + word.length]) && /^[a-z]/.test(word)),
    )
    .map(([word]) => word)

const sources = readdirSync(SRC, { recursive: true })
  .map(String)
  .filter((name) => /\.(svelte|ts)$/.test(name) && !/\.test\.ts$|words\/locale\.svelte\.ts$/.test(name))
  .map((name) => ({ name, text: readFileSync(path.join(SRC, name), 'utf8') }))

describe('spelling', () => {
  it('is found where people read it, in either form', () => {
    for (const bad of [
      '<h1>Programme</h1>',
      '<p>An admin or the programme coordinator does that.</p>',
      `words: 'Program',`,
      `title="Colour of the fluid"`,
      `{ labour: 'Labour' }`,
      '<p>Ask the neighbours.</p>',
      `name: 'Programme',`,
      '`${n} metres`',
    ])
      expect(found(bad), bad).toHaveLength(1)
    for (const good of [
      `<h1>{spelled('Programme')}</h1>`,
      'words: spelled(`The programme of ${name}`),',
      `href="/programme/policy"`,
      `import Programme from './Programme.svelte'`,
      '// the programme, in grey',
      `{ part: 'Part', labour: 'Work' }`,
      `lineKind === 'labour'`,
      'programmeTabs(at)',
      '<p>The hour meter, and its check.</p>',
      '<style>p { color: red }</style>',
    ])
      expect(found(good), good).toEqual([])
  })
  it('is of no country on any screen', () => {
    expect(sources.length).toBeGreaterThan(300)
    expect(sources.flatMap(({ name, text }) => found(text).map((word) => `${name}: ${word}`))).toEqual([])
  })
})
