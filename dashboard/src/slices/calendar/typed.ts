import { notices } from '@/ui/notice.svelte'

/** The number in a field. What is none, or out of its range, is said in words, and the field shows the one before. */
export function typedNumber(
  input: HTMLInputElement,
  before: number,
  least: number,
  most: number,
): number | null {
  const n = Number(input.value)
  if (input.value && n >= least && n <= most) return n
  input.value = String(before)
  notices.say(`Give a number from ${least} to ${most.toLocaleString('en-US')}. It stays at ${before}.`)
  return null
}
