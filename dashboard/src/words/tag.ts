// The address on a label, and how a tag is read back out of whatever a camera or a person brings.

export const tagUrl = (origin: string, tag: string) => `${origin}/tag/${encodeURIComponent(tag)}`

/** The tag in the text of a code: our own address on any host, or the bare tag. Null when it is something else. */
export function tagOf(text: string): string | null {
  const plain = text.trim()
  if (!plain) return null
  if (/^https?:\/\//i.test(plain)) {
    const found = /^https?:\/\/[^/?#]+\/tag\/([^/?#]+)\/?(?:[?#].*)?$/i.exec(plain)
    if (!found?.[1]) return null
    try {
      return decodeURIComponent(found[1]).trim() || null
    } catch {
      return null
    }
  }
  // A tag is short and on one line; anything with an address scheme or more words is somebody else's code.
  if (plain.length > 40 || /[\n\r\t]/.test(plain) || /^[a-z][a-z0-9+.-]*:/i.test(plain)) return null
  return plain
}

/** Letters that are mixed up on a worn label are one and the same here: O and 0, I, L and 1. */
export function blurred(tag: string): string {
  return tag
    .trim()
    .toUpperCase()
    .replaceAll('O', '0')
    .replace(/[IL]/g, '1')
    .replace(/[\s._/-]+/g, '')
}
