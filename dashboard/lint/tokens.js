// Styles name the tokens of src/ui/tokens.css: a raw colour, space, radius, size of type or width of a window is refused. 0, em
// beside its text, percentages, borders and the geometry of drawings are free.

const COLOUR = /#[0-9a-f]{3,8}\b|\b(?:rgb|hsl|hwb|lab|lch|oklab|oklch|color)a?\(/i
const NAMED =
  /^(?:black|white|red|green|blue|gr[ae]y|yellow|orange|silver|navy|teal|maroon|purple|olive|lime|aqua|fuchsia)$/i
const PAINT = /^(?:color|fill|stroke|background(?:-color)?|(?:border|outline)(?:-\w+)*|.*-color)$/
const SPACE = /^(?:margin|padding|gap|row-gap|column-gap|scroll-padding)(?:-|$)/
const RADIUS = /^border-(?:\w+-)*radius$/
const ABSOLUTE = /(?<![\w-])-?(?:\d*\.)?\d+(?:px|rem|pt|pc|in|cm|mm|q|vw|vh|vmin|vmax)\b/i

const nothing = (number) => /^-?0*\.?0+(?![\d.])/.test(number)
const raw = (value) => value.match(new RegExp(ABSOLUTE, 'gi'))?.filter((one) => !nothing(one)) ?? []

/** What is wrong with one declaration, or null. */
function fault(property, value) {
  if (COLOUR.test(value)) return `colour ${value}`
  if (PAINT.test(property) && value.split(/\s+/).some((word) => NAMED.test(word))) return `colour ${value}`
  if (property === 'font-size' && !/^(?:var\(--text-[\w-]+\)|inherit|[\d.]+em)$/.test(value))
    return `size of type ${value}`
  if (property === 'font' && raw(value).length) return `size of type ${value}`
  if (RADIUS.test(property) && raw(value).length) return `radius ${value}`
  if (SPACE.test(property) && raw(value).length) return `space ${value}`
  return null
}

/** What is wrong with a text of styles: a list of sentences. `@page` speaks of paper and is left out. */
export function faults(css) {
  const found = []
  const text = css.replace(/\/\*[\s\S]*?\*\//g, '').replace(/@page[^{]*\{[^}]*\}/g, '')
  for (const [, rule] of text.matchAll(/@(?:media|container)\s*([^{]*)/g))
    if (/\d/.test(rule)) found.push(`a width without a name: ${rule.trim()}`)
  for (const [, property, value] of text.matchAll(/(?<=[{;]\s*)([\w-]+)\s*:\s*([^;{}]+)(?=[;}])/g)) {
    const why = fault(property, value.replace(/\s*!important$/, '').trim())
    if (why) found.push(`${property}: ${why}`)
  }
  return found
}

/** The styles of a component: its style element, and what its markup says itself. */
export function faultsOfComponent(source) {
  const style = /<style>([\s\S]*)<\/style>/.exec(source)
  const markup = source.replace(/<(script|style)[^>]*>[\s\S]*?<\/\1>/g, '')
  const said = [...markup.matchAll(/\b(?:fill|stroke|color|font-size|style)="([^"{]*)"/g)]
  return [
    ...faults(style?.[1] ?? ''),
    ...said.flatMap(([whole, value]) =>
      COLOUR.test(value) || NAMED.test(value) || raw(value).length ? [`in the markup: ${whole}`] : [],
    ),
  ]
}
