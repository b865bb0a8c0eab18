// What the server found wrong with the fields of a form, by the path of each.
import type { Problem } from '@/api/types'
import { capital } from './plans'

export type Faults = Record<string, string>

/** By the path below `root`: of `body.plan.steps[2].title` with the root `plan` it is `steps[2].title`. */
export function faultsOf(problem: Problem | null | undefined, root = ''): Faults {
  const all = [
    ...(problem?.errors ?? []),
    ...(problem?.field ? [{ field: problem.field, detail: problem.detail ?? problem.title }] : []),
  ]
  const found: Faults = {}
  for (const { field, detail } of all) {
    const path = field.replace(/^body\./, '')
    if (root && path !== root && !path.startsWith(`${root}.`)) continue
    found[root ? path.slice(root.length + 1) : path] ??= capital(detail)
  }
  return found
}

/** What is wrong with a field itself. */
export const faultAt = (faults: Faults, path: string) => faults[path] ?? ''

/** What is wrong with a field or with anything in it. */
export function faultIn(faults: Faults, path: string): string {
  const at = Object.keys(faults).find(
    (one) => one === path || one.startsWith(`${path}.`) || one.startsWith(`${path}[`),
  )
  return at === undefined ? '' : (faults[at] ?? '')
}
