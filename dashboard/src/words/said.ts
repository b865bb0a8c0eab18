/** Somebody's own words inside a sentence of ours, in quotes; `none` where nothing was said. What quotes already is a sentence of
 *  ours around such words and stays as it is. A full stop at the end goes: our sentence goes on, or has its own. */
export function said(words: string | null | undefined, none = ''): string {
  const text = words?.trim().replace(/(?<=[^.])\.$/, '') ?? ''
  if (!text) return none
  return text.includes('“') ? text : `“${text}”`
}
