// Reads the words of a PDF as the browser makes them: plain objects, packed streams, fonts that say what their signs mean.
import { inflateSync } from 'node:zlib'

interface Part {
  head: string
  stream: string
}

/** The text of each page, without the spaces between words. */
export function pagesOfPdf(pdf: Buffer): string[] {
  const parts = partsOf(pdf)
  const pages = [...parts.values()].filter(({ head }) => /\/Type\s*\/Page\b(?!s)/.test(head))
  return pages.map(({ head }) => {
    const content = parts.get(refOf(head, 'Contents'))?.stream ?? ''
    return wordsOf(content, signsOf(head, parts))
  })
}

function partsOf(pdf: Buffer): Map<string, Part> {
  const text = pdf.toString('latin1')
  const parts = new Map<string, Part>()
  for (const found of text.matchAll(/(\d+) 0 obj([\s\S]*?)endobj/g)) {
    const body = found[2] ?? ''
    const begins = /stream\r?\n/.exec(body)
    const head = begins ? body.slice(0, begins.index) : body
    const packed = begins
      ? Buffer.from(body.slice(begins.index + begins[0].length, body.lastIndexOf('endstream')), 'latin1')
      : null
    const stream = packed && head.includes('FlateDecode') ? unpacked(packed) : ''
    parts.set(found[1] ?? '', { head, stream })
  }
  return parts
}
/** Of a picture or a font file nobody asks for words. */
function unpacked(bytes: Buffer): string {
  try {
    return inflateSync(bytes).toString('latin1')
  } catch {
    return ''
  }
}
const refOf = (head: string, name: string) => new RegExp(`/${name}\\s+(\\d+) 0 R`).exec(head)?.[1] ?? ''

/** For each font of a page: which sign stands for which letters. */
function signsOf(page: string, parts: Map<string, Part>): Map<string, Map<string, string>> {
  const resources = parts.get(refOf(page, 'Resources'))?.head ?? page
  const fonts = /\/Font\s*<<([\s\S]*?)>>/.exec(resources)?.[1] ?? ''
  return new Map(
    [...fonts.matchAll(/\/(\w+)\s+(\d+) 0 R/g)].map(([, name = '', id = '']) => [
      name,
      lettersOf(parts.get(refOf(parts.get(id)?.head ?? '', 'ToUnicode'))?.stream ?? ''),
    ]),
  )
}
const letter = (hex: string) =>
  String.fromCharCode(...(hex.match(/.{4}/g) ?? []).map((unit) => Number.parseInt(unit, 16)))
function lettersOf(map: string): Map<string, string> {
  const signs = new Map<string, string>()
  for (const [, block = ''] of map.matchAll(/beginbfchar([\s\S]*?)endbfchar/g))
    for (const [, sign = '', to = ''] of block.matchAll(/<(\w+)>\s*<(\w+)>/g))
      signs.set(sign.toUpperCase(), letter(to))
  for (const [, block = ''] of map.matchAll(/beginbfrange([\s\S]*?)endbfrange/g))
    for (const [, from = '', until = '', to = ''] of block.matchAll(/<(\w+)>\s*<(\w+)>\s*<(\w+)>/g))
      for (let n = 0; n <= Number.parseInt(until, 16) - Number.parseInt(from, 16); n++)
        signs.set(
          (Number.parseInt(from, 16) + n).toString(16).padStart(from.length, '0').toUpperCase(),
          letter((Number.parseInt(to, 16) + n).toString(16).padStart(4, '0')),
        )
  return signs
}

function wordsOf(content: string, fonts: Map<string, Map<string, string>>): string {
  let signs = new Map<string, string>()
  let words = ''
  for (const [, font, hex] of content.matchAll(/\/(\w+)\s+[\d.]+\s+Tf|<([0-9A-Fa-f]+)>/g)) {
    if (font) signs = fonts.get(font) ?? new Map<string, string>()
    else for (const sign of hex?.match(/.{4}/g) ?? []) words += signs.get(sign.toUpperCase()) ?? ''
  }
  return words.replace(/\s+/g, '')
}
