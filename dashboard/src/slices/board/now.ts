// The board of this device, from what it holds now.
import { openDefects } from '@/store/look'
import { phone } from '@/store/phone.svelte'
import { seen } from '@/store/seen.svelte'
import { session } from '@/store/session.svelte'
import { world } from '@/store/world.svelte'
import { now } from '@/ui/tick.svelte'
import { buildBoard } from './board'

/** The district of whoever looks: by their reach, else by their station. */
export const ownDistrict = () =>
  session.member?.district ?? world.get('station', session.member?.station)?.district

export const boardNow = () =>
  buildBoard(
    {
      districts: world.all('district'),
      rigs: world.all('rig'),
      station: (id) => world.get('station', id),
      standing: (id) => world.get('rig_standing', id),
      seen: (id) => seen.rig(id),
      piece: (id) => world.get('piece', id),
      whole: !phone.station,
      own: ownDistrict(),
      defects: openDefects,
    },
    now(),
  )
