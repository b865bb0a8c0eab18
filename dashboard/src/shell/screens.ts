// The parts that draw the screens. Each is fetched when somebody goes there.
import type { Component } from 'svelte'

export type Screen = Component<{ id: string }>

/** The screens that people begin with, on a desk and on a phone. */
const FIRST: Record<string, () => Promise<{ default: unknown }>> = {
  board: () => import('../slices/board/Board.svelte'),
  mine: () => import('../slices/mine/Mine.svelte'),
}

/** The part for a route; null where there is none. */
export async function load(name: string): Promise<Screen | null> {
  const part = FIRST[name] ?? (await import('./others')).OTHERS[name]
  return part ? ((await part()).default as Screen) : null
}
