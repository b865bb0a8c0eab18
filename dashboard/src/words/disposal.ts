import type { Kind } from '@/api/types'

/** How pieces of these kinds are made unusable. */
export const disposalWords = (kinds: Kind[]) =>
  [
    kinds.some((kind) => kind !== 'battery') ? 'Let the pressure out first.' : '',
    kinds.includes('hose') ? 'A hose is cut through.' : '',
    kinds.includes('battery') ? 'A pack is never opened or cut.' : '',
    kinds.some((kind) => kind !== 'hose' && kind !== 'battery') ? 'Make it so that it cannot run.' : '',
  ]
    .filter(Boolean)
    .join(' ')
