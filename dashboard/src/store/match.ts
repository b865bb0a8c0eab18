// How well a few letters fit a thing with a name: `cu104` and `104` are CU-104, a slip of one letter still finds it.
import { blurred } from '@/words/tag'

export interface Names {
  /** Tag or name: what people call it. */
  name: string
  serial?: string | null | undefined
  /** Kind, model, station: each word asked for has to stand in there. */
  about: string
}
/** Fewer letters than this have a neighbour everywhere. */
const LEAST_LETTERS = 4

/** 0 is exactly it, 9 only by a typing error; null is not it. */
export function fit(text: string, names: Names): number | null {
  const wanted = blurred(text)
  if (!wanted) return null
  const name = blurred(names.name)
  if (name === wanted) return 0
  if (/^\d+$/.test(text.trim()) && digitsOf(names.name) === text.trim().replace(/^0+/, '')) return 1
  if (name.startsWith(wanted)) return 2
  if (name.includes(wanted)) return 3
  const serial = blurred(names.serial ?? '')
  if (serial === wanted) return 4
  if (wanted.length >= LEAST_LETTERS && serial.includes(wanted)) return 5
  if (words(text).every((word) => words(`${names.name} ${names.about}`).some((one) => one.startsWith(word))))
    return 6
  if (wanted.length < LEAST_LETTERS) return null
  if (oneSlip(wanted, name)) return 8
  return oneSlip(wanted, serial) || words(names.about).some((one) => slipped(text, one)) ? 9 : null
}
const words = (text: string) =>
  text
    .toLowerCase()
    .split(/[^\p{L}\p{N}]+/u)
    .filter(Boolean)
const slipped = (text: string, word: string) =>
  word.length >= LEAST_LETTERS && oneSlip(text.trim().toLowerCase(), word)
/** The number at the end, as people say it: "104" of CU-104. */
const digitsOf = (name: string) => /(\d+)\D*$/.exec(name)?.[1]?.replace(/^0+/, '')

/** One letter wrong, missing, too many, or two that changed places. */
export function oneSlip(a: string, b: string): boolean {
  if (a === b || Math.abs(a.length - b.length) > 1) return false
  let at = 0
  while (at < a.length && a[at] === b[at]) at += 1
  const [restA, restB] = [a.slice(at), b.slice(at)]
  if (a.length > b.length) return restA.slice(1) === restB
  if (a.length < b.length) return restA === restB.slice(1)
  const swapped = restA[0] === restB[1] && restA[1] === restB[0] && restA.slice(2) === restB.slice(2)
  return restA.slice(1) === restB.slice(1) || swapped
}
