// What stands at the foot of every printed page, so that a page that was taken out of the sheet still says what it is of.
const quote = (text: string) =>
  `"${[...text].map((c) => (/[\p{L}\p{N} .,:-]/u.test(c) ? c : `\\${c.codePointAt(0)?.toString(16) ?? ''} `)).join('')}"`

/** Puts a running foot under every page until the answer is called. */
export function runningFoot(text: string): () => void {
  const style = document.createElement('style')
  style.textContent = `@page { margin: 14mm 12mm 16mm; @bottom-left { content: ${quote(text)}; font: 8pt sans-serif; } @bottom-right { content: counter(page) " of " counter(pages); font: 8pt sans-serif; } }`
  document.head.append(style)
  return () => style.remove()
}
