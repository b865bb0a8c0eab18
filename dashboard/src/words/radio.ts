// What is read out after a drop: who, what it can do now, what for. No codes, because each county has its own.
import type { Level } from '@/api/types'

const CAN: Record<Level, string> = {
  not_judged: 'its level is not known',
  none: 'cannot do an extrication',
  limited: 'can begin an extrication, not finish it alone',
  full: 'can still do a full extrication',
  heavy: 'can still do a heavy extrication',
}

/** `level` null: it is not worked out yet, and is said as unknown. */
export const radioWords = (rig: string, level: Level | null | undefined, piece: string) =>
  `${rig}: ${piece} is out of service. ${rig} ${level ? CAN[level] : 'can do less; how much is not known yet'}.`
