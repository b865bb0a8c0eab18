// A small router on the History API. Filters live in the address; a click on an inner link stays in the page.
export interface Match {
  name: string
  params: Record<string, string>
}

export function matchRoute(routes: Record<string, string>, path: string): Match | null {
  const parts = path.split('/').filter(Boolean)
  for (const [name, pattern] of Object.entries(routes)) {
    const wanted = pattern.split('/').filter(Boolean)
    if (wanted.length !== parts.length) continue
    const params: Record<string, string> = {}
    const fits = wanted.every((w, i) => {
      const part = parts[i] ?? ''
      if (!w.startsWith(':')) return w === part
      try {
        params[w.slice(1)] = decodeURIComponent(part)
      } catch {
        return false
      }
      return true
    })
    if (fits) return { name, params }
  }
  return null
}

/** The query with some keys changed; empty values leave it, so that an address says only what is set. */
export function withQuery(search: string, changes: Record<string, string | null | undefined>): string {
  const query = new URLSearchParams(search)
  for (const [key, value] of Object.entries(changes)) {
    if (value) query.set(key, value)
    else query.delete(key)
  }
  const text = query.toString()
  return text ? `?${text}` : ''
}

class Router {
  path = $state(typeof location === 'undefined' ? '/' : location.pathname)
  search = $state(typeof location === 'undefined' ? '' : location.search)
  readonly query = $derived(new URLSearchParams(this.search))

  go(href: string, how: { replace?: boolean } = {}) {
    if (how.replace) history.replaceState(null, '', href)
    else history.pushState(null, '', href)
    this.#read()
  }
  /** Changes filters without leaving a trail of every key press in the history. */
  filter(changes: Record<string, string | null | undefined>) {
    this.go(this.path + withQuery(this.search, changes), { replace: true })
  }
  get(key: string): string {
    return this.query.get(key) ?? ''
  }

  start(): () => void {
    const read = () => this.#read()
    const click = (event: MouseEvent) => {
      if (event.defaultPrevented || event.button !== 0) return
      if (event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return
      const link = (event.target as Element | null)?.closest('a')
      const href = link?.getAttribute('href')
      if (!link || !href?.startsWith('/') || href.startsWith('/v1/')) return
      if (link.hasAttribute('download') || link.getAttribute('target')) return
      event.preventDefault()
      const already = href === this.path + this.search
      this.go(href, { replace: already })
    }
    addEventListener('popstate', read)
    document.addEventListener('click', click)
    return () => {
      removeEventListener('popstate', read)
      document.removeEventListener('click', click)
    }
  }

  #read() {
    this.path = location.pathname
    this.search = location.search
  }
}

export const router = new Router()
