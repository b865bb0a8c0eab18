import { plainly, readTyped, TWO_WAYS } from '@/words/typed'
import { notices } from '@/ui/notice.svelte'

/** The number in a field. What is none, out of its range or can be meant in two ways is said in words, and the field shows the one
 *  before. */
export function typedNumber(
  input: HTMLInputElement,
  before: number,
  least: number,
  most: number,
  whole = false,
): number | null {
  const read = readTyped(input.value, { least, most, whole })
  if (read.is === 'read') {
    input.value = String(read.value)
    return read.value
  }
  const why =
    read.is === 'open'
      ? `${TWO_WAYS} Write ${read.ways.join(' or ')}.`
      : `Give a ${whole ? 'whole ' : ''}number from ${plainly(least)} to ${plainly(most)}.`
  input.value = String(before)
  notices.say(`${why} It stays at ${before}.`)
  return null
}
