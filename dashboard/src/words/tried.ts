// What to do before anybody says that a piece was tried on its rig. Which pieces owe it is the server's to say.
import type { Kind } from '@/api/types'

/** "hooked up, opened and closed, no leak". `battery`: the piece runs on a pack. */
export function trialWords(kind: Kind, battery: boolean): string {
  switch (kind) {
    case 'power_unit':
    case 'hand_pump':
      return 'ran at pressure, no leak'
    case 'hose':
    case 'adapter':
      return 'hooked up, a tool opened and closed through it, no leak'
    case 'battery':
      return 'a tool ran under it'
    case 'charger':
      return 'charged a pack'
    case 'ram':
      return battery ? 'ran out and back under its pack' : 'hooked up, ran out and back, no leak'
    default:
      return battery ? 'ran under its pack, opened and closed' : 'hooked up, opened and closed, no leak'
  }
}

/** Whether a trial of these may show a leak. */
export const mayLeak = (pieces: { kind: Kind; battery: boolean }[]) =>
  pieces.some((one) => !one.battery && one.kind !== 'battery' && one.kind !== 'charger')
