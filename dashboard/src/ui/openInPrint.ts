// Paper cannot be unfolded: what is folded on the screen stands open on it, and folds again afterwards.

const FOLDED = 'details:not([open])'

/** As an attachment of the page's or a part's outermost element: `{@attach openInPrint}`. What no paper shows stays as it is. */
export function openInPrint(root: ParentNode): () => void {
  let opened: HTMLDetailsElement[] = []
  const open = () => {
    const all = [...root.querySelectorAll<HTMLDetailsElement>(FOLDED)]
    opened = [...opened, ...all.filter((one) => !one.closest('.no-print'))]
    for (const one of opened) one.open = true
  }
  const fold = () => {
    for (const one of opened) one.open = false
    opened = []
  }
  window.addEventListener('beforeprint', open)
  window.addEventListener('afterprint', fold)
  return () => {
    window.removeEventListener('beforeprint', open)
    window.removeEventListener('afterprint', fold)
  }
}
