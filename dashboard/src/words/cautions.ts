// What to keep in mind before a piece is touched: the cautions that the usual safety sheets give, in our own words, by kind
// and by how it is driven. The maker's manual and local orders come before all of it.
import type { Gear, Kind, Model } from '@/api/types'

export interface Caution {
  title: string
  text: string
}
/** How it gets its force. A tool whose hook-up is not on record is taken as both. */
export type DrivenBy = 'hose' | 'battery' | 'unknown'

export const INJECTION: Caution = {
  title: 'Fluid under pressure goes through gloves and skin',
  text: 'Never feel for a leak with a hand: use card or wood. Injection hardly hurts at first and is a surgical emergency. Go to hospital at once, say “high-pressure injection” and name the fluid. Never hold or carry a tool by its hose.',
}
const DUMP: Caution = {
  title: 'Dump the pressure before you couple or uncouple',
  text: 'Only couplings that are made for it may be joined under pressure. Pressure that is trapped is let out by the maker’s method and no other.',
}
const FLUID: Caution = {
  title: 'Only the fluid on the label',
  text: 'Mineral oil and phosphate ester never mix. After a mix everything wet stays out of service until the shop clears it. Wear eye protection, wash it off the skin, keep it out of drains.',
}
const HOSE: Caution = {
  title: 'A damaged hose or coupling comes out of service at once',
  text: 'Cut, blistered, kinked, leaking, out of date or of unknown date: do not use it, do not tape it.',
}
const PINCH: Caution = {
  title: 'Hands and body out of what closes',
  text: 'Keep clear of blades and arms, and never stand between tool and vehicle. If the tool turns in your hands, let go of the control. Hand it over nearly closed, with the control untouched.',
}
const FLYING: Caution = {
  title: 'Parts fly',
  text: 'Face shield, helmet, gloves and coat for all who are near; about 5 m clear all round. No free ends: cut so that neither piece can jump.',
}
const CUTS: Caution = {
  title: 'What is never cut',
  text: 'Hardened rods, gas struts, hinge pins, airbag inflators, seat-belt tensioners and high-voltage cables. Look behind the trim first, and stay out of the path of airbags that have not fired.',
}
const VOLTAGE: Caution = {
  title: 'High voltage',
  text: 'Orange cables and their battery are left alone until the vehicle is made safe. Nothing is cut, spread or pushed where they run.',
}
const STABILISE: Caution = {
  title: 'Stabilise first, crib as it moves',
  text: 'Watch the load the whole time and follow it with cribbing. A tool is no stand: nobody works under a load that only a tool holds.',
}
const RAM: Caution = {
  title: 'Support behind both ends',
  text: 'Both ends need something that carries. Never stand in line with a ram under load, and watch for slip.',
}
const CHAINS: Caution = {
  title: 'Only the rated chains of the set',
  text: 'Look at each link and hook before and after. Nobody stands in the line of pull or near it.',
}
const ENGINE: Caution = {
  title: 'Exhaust, fuel and hot parts',
  text: 'An engine is not run indoors without a way out for its exhaust. Let it cool before you fill it; keep fuel from the exhaust and from sparks. An electric pump runs in water or near fuel fumes only if it is made for it.',
}
const PUMPING: Caution = {
  title: 'Pump only while you watch the tool',
  text: 'The force builds up with every stroke, unseen from the handle. Stop when told, open the valve before anything is uncoupled, and keep clear of the handle under load.',
}
const PACK: Caution = {
  title: 'Damaged packs stay outside',
  text: 'A pack that was dropped, drowned, swollen or burnt is set apart in the open, never opened and never charged. A cold pack gives less.',
}
const CHARGE: Caution = {
  title: 'Only the charger that belongs to the pack',
  text: 'Dry, off the floor, away from what burns, and not on a pack that is hot, wet or damaged.',
}
const OVERLOAD: Caution = {
  title: 'After overload, fall, fire or flood',
  text: 'Out of service until a competent person has tested it, however it looks.',
}
const BLOOD: Caution = {
  title: 'Blood after use',
  text: 'Gloves on. Clean and disinfect it before it goes back on the rig or to the shop.',
}
const ADAPTER: Caution = {
  title: 'An adapter is one more joint',
  text: 'Locked at both ends, for this fluid and this pressure, and capped when it is not in use. It is never a way to join two fluids.',
}
const GEAR: Caution = {
  title: 'Only for what it is made for',
  text: 'Look it over for cracks, cuts and bends before each use, and load it no higher than its label says.',
}
const ALWAYS: Caution = {
  title: 'Trained members only',
  text: 'Only trained members operate, only qualified technicians repair. The maker’s manual and local orders come before anything shown here. A record says that it passed then, never that it is safe now.',
}

const CUTTER = [PINCH, FLYING, CUTS, VOLTAGE, STABILISE, OVERLOAD, BLOOD]
const SPREADER = [PINCH, FLYING, STABILISE, CHAINS, VOLTAGE, OVERLOAD, BLOOD]
const BY_KIND: Record<Kind, readonly Caution[]> = {
  cutter: CUTTER,
  spreader: SPREADER,
  combination_tool: [PINCH, FLYING, CUTS, VOLTAGE, STABILISE, CHAINS, OVERLOAD, BLOOD],
  ram: [RAM, PINCH, FLYING, STABILISE, VOLTAGE, OVERLOAD, BLOOD],
  power_unit: [INJECTION, DUMP, FLUID, ENGINE, HOSE, OVERLOAD],
  hand_pump: [INJECTION, DUMP, FLUID, PUMPING, HOSE, OVERLOAD],
  hose: [INJECTION, HOSE, DUMP, FLUID, OVERLOAD, BLOOD],
  adapter: [INJECTION, ADAPTER, HOSE, DUMP, FLUID],
  battery: [PACK, CHARGE],
  charger: [CHARGE, PACK],
  accessory: [GEAR, STABILISE, BLOOD],
}
/** How a model gets its force, by its hook-up. */
export const drivenBy = (hookup: Model['hookup'] | undefined): DrivenBy =>
  hookup?.battery ? 'battery' : hookup?.coupling || hookup?.tool_coupling ? 'hose' : 'unknown'
/** Beside what a whole rig class carries: those of each kind stand at its pieces. */
export const CLASS_CAUTIONS: readonly Caution[] = [INJECTION, HOSE, STABILISE, OVERLOAD, ALWAYS]

const TOOLS: readonly Kind[] = ['cutter', 'spreader', 'combination_tool', 'ram']
const WET: readonly Caution[] = [INJECTION, DUMP, HOSE, FLUID]

export function cautionsFor(kind: Kind, by: DrivenBy, gear?: Gear | null): Caution[] {
  const list: Caution[] = []
  // A battery tool has fluid under pressure inside it too.
  if (TOOLS.includes(kind)) list.push(...(by === 'battery' ? [INJECTION] : WET))
  if (gear === 'chains') list.push(CHAINS)
  list.push(...(BY_KIND[kind] ?? [GEAR]))
  if (TOOLS.includes(kind) && by !== 'hose') list.push(PACK, CHARGE)
  list.push(ALWAYS)
  return [...new Set(list)]
}

/** The one sentence beside the buttons of a report. */
export const HOSE_DAMAGE = HOSE.title
