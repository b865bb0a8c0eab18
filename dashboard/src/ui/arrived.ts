import { router } from './router.svelte'

/** Whether a link asked for this dialog: once, so that a reload does not open it again. */
export function arrivedFor(what: string): boolean {
  if (router.get('do') !== what) return false
  router.filter({ do: null })
  return true
}
