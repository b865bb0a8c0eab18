// The board of this device, from what it holds now.
import { openDefects } from '@/store/look'
import { phone } from '@/store/phone.svelte'
import { seen } from '@/store/seen.svelte'
import { session } from '@/store/session.svelte'
import { world } from '@/store/world.svelte'
import { now } from '@/ui/tick.svelte'
import { buildBoard } from './board'
import { isEssential, OVER, putAway, startOf, type Step } from './start'

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

/** Whether whoever looks may set anything up. */
export const setsUp = () => ['agency.grade', 'rig.edit', 'member.invite'].some((act) => session.may(act))

/** The steps to a true board of which something is left; none on a device that does not keep the whole agency. */
export function startNow(): Step[] {
  if (!world.ready) return []
  const sets = setsUp()
  const graded = Boolean(session.agency?.grades)
  if (phone.station && graded) return []
  const steps = startOf({
    rigs: world.all('rig'),
    pieces: world.all('piece').length,
    graded,
    classes: world.all('rig_class'),
    members: sets ? world.all('member').length : 0,
    devices: sets ? world.all('device').length : 0,
    plans: sets ? world.all('check_plan').length : 0,
    checkedBy: sets ? world.all('check').map((one) => one.done_by.id ?? '') : [],
  })
  if (phone.station) return steps.filter((one) => one.key === 'grades')
  return putAway().includes(OVER) ? steps.filter((one) => isEssential(one.key)) : steps
}
