// What a rig is there for, read out.
import type { Duty } from '@/api/types'

const WORDS: Record<Duty, string> = {
  front_line: 'Front line',
  ready_reserve: 'Ready reserve',
  stripped_reserve: 'Stripped reserve',
}
export const DUTY_LIST = Object.keys(WORDS) as Duty[]
export const dutyWord = (duty: Duty) => WORDS[duty] ?? duty
