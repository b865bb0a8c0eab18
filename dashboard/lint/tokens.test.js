import { readdirSync, readFileSync } from 'node:fs'
import path from 'node:path'
import { describe, expect, it } from 'vitest'
import { breakpoints, resolve } from '../breakpoints.js'
import { PHONE } from '../src/ui/width'
import { faults, faultsOfComponent } from './tokens.js'

const root = path.resolve(import.meta.dirname, '..')
const src = path.join(root, 'src')
const read = (...file) => readFileSync(path.join(...file), 'utf8')
const all = readdirSync(src, { recursive: true }).map(String)
const sheets = all.filter((file) => file.endsWith('.css') && file !== path.join('ui', 'tokens.css'))
const components = all.filter((file) => file.endsWith('.svelte'))
const tokens = read(src, 'ui', 'tokens.css')

describe('styles name the tokens', () => {
  it('in every file', () => {
    expect(sheets.length).toBeGreaterThan(2)
    expect(components.length).toBeGreaterThan(100)
    const found = [
      ...sheets.flatMap((file) => faults(read(src, file)).map((why) => `${file}: ${why}`)),
      ...components.flatMap((file) => faultsOfComponent(read(src, file)).map((why) => `${file}: ${why}`)),
    ]
    expect(found).toEqual([])
  })

  it('that exist, and none stands there unused', () => {
    const known = new Set([...tokens.matchAll(/^\s*(--[\w-]+):/gm)].map(([, name]) => name))
    const files = [...sheets, ...components].map((file) => read(src, file))
    const own = new Set(
      files.flatMap((text) => [...text.matchAll(/(?:style:|[\s{;"])(--[\w-]+)[:=]/g)].map((m) => m[1])),
    )
    const used = new Set(files.flatMap((text) => [...text.matchAll(/var\((--[\w-]+)/g)].map((m) => m[1])))
    expect([...used].filter((name) => !known.has(name) && !own.has(name))).toEqual([])
    expect([...known].filter((name) => !used.has(name))).toEqual([])
  })

  it.each([
    ['font-size: 0.9rem', 'size of type'],
    ['font-size: 14px', 'size of type'],
    ['font: 1rem/1.4 sans-serif', 'size of type'],
    ['border-radius: 6px', 'radius'],
    ['border-top-left-radius: 1rem', 'radius'],
    ['padding: 0 0.5rem', 'space'],
    ['margin-top: -4px', 'space'],
    ['gap: 1rem', 'space'],
    ['color: #123456', 'colour'],
    ['border: 1px solid #999', 'colour'],
    ['background: rgb(0 0 0 / 20%)', 'colour'],
    ['fill: white', 'colour'],
  ])('and not %s', (declaration, why) => {
    expect(faults(`a { ${declaration}; }`).join()).toContain(why)
    expect(faults(`a { ${declaration} }`).join()).toContain(why)
  })

  it('and no width without a name', () => {
    expect(faults('@media screen and (max-width: 760px) { a { top: 0; } }')).toHaveLength(1)
    expect(faults('@media screen and (--phone) { a { top: 0; } }')).toEqual([])
  })

  it('nor colours in the markup', () => {
    expect(faultsOfComponent('<rect fill="#fff" />')).toHaveLength(1)
    expect(faultsOfComponent('<p style="margin-top: 1rem">x</p>')).toHaveLength(1)
    expect(faultsOfComponent('<rect fill="none" />')).toEqual([])
  })

  it('but nothing, borders, em and shares are free', () => {
    expect(
      faults(
        'a { margin: 0 auto; border: 1px solid var(--rule); padding: 0 0.35em; font-size: 0.9em; width: 100%; }',
      ),
    ).toEqual([])
  })
})

describe('breakpoints', () => {
  it('become their queries', () => {
    expect(resolve('@media screen and (--phone) {}')).toBe(`@media screen and ${breakpoints.get('phone')} {}`)
    expect(() => resolve('@media (--nowhere) {}')).toThrow('--nowhere')
  })
  it('are the same for code', () => {
    expect(PHONE).toBe(breakpoints.get('phone'))
  })
})

it('the bars of the browser have the colours of the page', () => {
  const papers = [...tokens.matchAll(/--paper: (#\w{6});/g)].map(([, colour]) => colour)
  const bars = [...read(root, 'index.html').matchAll(/theme-color" content="(#\w+)"/g)].map(
    ([, colour]) => colour,
  )
  expect(bars).toEqual(papers)
})
