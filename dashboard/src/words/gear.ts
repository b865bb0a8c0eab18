// Small gear that a list or a step may ask for by name.
import type { Gear } from '@/api/types'
import { humanise } from './piece'

const GEAR: Record<Gear, string> = {
  chains: 'Chains',
  ram_support: 'Ram support',
  ram_extension: 'Ram extension',
  tips: 'Tips',
  cribbing: 'Cribbing',
  struts: 'Struts',
  lifting_bag: 'Lifting bag',
  edge_covers: 'Edge covers',
  glass_tools: 'Glass tools',
  airbag_restraint: 'Airbag restraint',
  straps: 'Straps and slings',
  mains_adapter: 'Mains adapter',
  other: 'Something else',
}
export const GEAR_LIST = Object.keys(GEAR) as Gear[]
export const gearWord = (gear: Gear) => GEAR[gear] ?? humanise(gear)
