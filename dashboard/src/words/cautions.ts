import type { Kind } from '@/api/types'

export interface Caution {
  title: string
  text: string
}

const INJECTION: Caution = {
  title: 'Fluid under pressure goes through skin',
  text: 'Never search for a leak by hand: use card or wood. Injection is a surgical emergency even when it hardly hurts. Go to hospital at once, say “high-pressure injection” and name the fluid.',
}
const HOSE: Caution = {
  title: 'A damaged hose or coupling comes out of service at once',
  text: 'Cut, blistered, kinked, leaking, out of date or of unknown date: do not use it, do not tape it.',
}
const BATTERY: Caution = {
  title: 'Damaged packs stay outside',
  text: 'A pack that was dropped, drowned or is swollen is set apart in the open and charged by nobody.',
}
const RAM: Caution = {
  title: 'Support behind both ends',
  text: 'Never stand in line with a ram under load; watch for slip.',
}
const ALWAYS: Caution = {
  title: 'Trained members only',
  text: 'Only trained members operate, only qualified technicians repair. The maker’s manual and local orders come before anything shown here.',
}

const FED: Kind[] = ['power_unit', 'hand_pump', 'cutter', 'spreader', 'combination_tool', 'ram', 'hose']

export function cautionsFor(kind: Kind, onBattery: boolean): Caution[] {
  const list: Caution[] = []
  if (FED.includes(kind)) list.push(INJECTION)
  if (kind === 'hose' || kind === 'power_unit' || kind === 'hand_pump') list.push(HOSE)
  if (kind === 'ram') list.push(RAM)
  if (onBattery || kind === 'battery' || kind === 'charger') list.push(BATTERY)
  list.push(ALWAYS)
  return list
}

export const PLANNING_AID =
  'Capability is a planning aid. It is not a dispatch order and does not replace the officer’s own check.'
