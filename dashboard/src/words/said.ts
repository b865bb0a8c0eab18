/** Somebody's own words inside a sentence of ours, in quotes; `none` where nothing was said. What quotes already is a sentence of
 *  ours around such words and stays as it is. */
export function said(words: string | null | undefined, none = ''): string {
  const text = words?.trim() ?? ''
  if (!text) return none
  return text.includes('“') ? text : `“${text}”`
}
